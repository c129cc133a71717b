//! The file around what is shown: its look, its script, and a policy that lets nothing else in.

use super::typed::DecimalMark;
use crate::diag::shown::printable;
use base64::Engine;
use base64::prelude::BASE64_STANDARD;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use sha2::{Digest, Sha256};

const LOOK: &str = include_str!("look.css");
/// What stands before the practice's identity in the head of a page.
const MADE_OF: &str = "Lengthwise, of ";

/// A whole file.
pub struct Document<'d> {
    /// What a window is called.
    pub title: &'d str,
    /// What is shown.
    pub body: &'d Markup,
    /// What moves in it.
    pub script: Option<&'d str>,
    /// What tells pages of this practice from others.
    pub identity: &'d str,
    /// How its numbers are written.
    pub decimals: DecimalMark,
}

impl Document<'_> {
    /// As text. Nothing is fetched: the policy names what stands in the file by its checksum, and refuses all else.
    pub fn html(&self) -> String {
        let script = self.script.map_or_else(|| "'none'".to_owned(), |script| format!("'{}'", checksum(script)));
        let policy = format!(
            "default-src 'none'; style-src '{}'; script-src {script}; media-src data:; base-uri 'none'; form-action 'none'",
            checksum(LOOK)
        );
        let page = html! {
            (DOCTYPE)
            html lang="en" {
                head {
                    meta charset="utf-8";
                    meta http-equiv="Content-Security-Policy" content=(policy);
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    meta name="color-scheme" content="light dark";
                    meta name="generator" content=(format!("{MADE_OF}{}", self.identity));
                    title { (printable(self.title)) }
                    style { (PreEscaped(LOOK)) }
                }
                body {
                    (PreEscaped(self.decimals.written(self.body.0.clone())))
                    @if let Some(script) = self.script { script { (PreEscaped(script)) } }
                }
            }
        };
        page.into_string()
    }
}

fn checksum(text: &str) -> String {
    format!("sha256-{}", BASE64_STANDARD.encode(Sha256::digest(text)))
}

/// The identity of a page of ours, given its beginning.
pub fn source(page: &str) -> Option<String> {
    let (_, behind) = page.split_once("<meta name=\"generator\" content=\"")?;
    let (content, _) = behind.split_once('"')?;
    let identity = content.strip_prefix(MADE_OF)?;
    Some(identity.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_is_known_by_what_it_was_made_of() {
        let body = html! { p { "x" } };
        let identity = "a \"<b>\" & c.yaml";
        let page = Document { title: "T", body: &body, script: None, identity, decimals: DecimalMark::Point }.html();
        assert_eq!(source(&page).as_deref(), Some(identity));
        assert_eq!(source("<html>"), None);
    }

    /// RFC 4648, section 10: test vectors; FIPS 180-2, appendix B.1: the digest of "abc".
    #[test]
    fn the_policy_names_contents_by_their_digest() {
        assert_eq!(BASE64_STANDARD.encode("foobar"), "Zm9vYmFy");
        assert_eq!(checksum("abc"), "sha256-ungWv48Bz+pBQUDeXa4iI7ADYaOWF3qctBD/YfIAFa0=");
    }
}
