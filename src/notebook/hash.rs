//! What tells texts and records apart: SHA-256.

use sha2::{Digest, Sha256};

/// SHA-256 of some bytes, in hexadecimal.
pub fn sha256(bytes: &[u8]) -> String {
    format!("{:x}", Sha256::digest(bytes))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_empty_message() {
        // FIPS 180-4's SHA-256 of no bytes (from memory).
        assert_eq!(sha256(b""), "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
    }
}
