//! Which script a render was made from, beyond what its bytes say.
//!
//! A file holds the name and the title of its script, and nothing of where that lies: the same script gives the same bytes anywhere.
//! So two scripts of one name and title, a week's folder copied for the next, could not be told apart. What tells them apart lies
//! beside the bytes (`disk::note`): a hash of the script's place, and one of its text. A render gives way to the script in that
//! place, whatever its text is by now, and to the same text in any place.

use super::NotRendered;
use crate::disk::note;
use crate::prepare::{fnv1a, text};
use std::path::Path;

/// Where a script lies and what it says, as hashes: no path is passed on with a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Origin {
    place: u64,
    text: u64,
}

impl Origin {
    /// Of a script; none where it is not a file, such as one that is built in.
    pub fn of(script: &Path) -> Option<Self> {
        let place = script.canonicalize().ok()?;
        let text = text::read(script).ok()?;
        Some(Self { place: fnv1a(place.as_os_str().as_encoded_bytes()), text: fnv1a(text.as_bytes()) })
    }

    /// Whether a file that has a name may give way, as far as this can say: unless it is known to be from another place and of
    /// another text.
    ///
    /// # Errors
    /// [`NotRendered::Another`].
    pub fn check(self, there: &Path) -> Result<(), NotRendered> {
        match note::get(there).and_then(|note| Self::read(&note)) {
            Some(was) if was.place != self.place && was.text != self.text => {
                Err(NotRendered::Another(there.to_owned()))
            }
            _ => Ok(()),
        }
    }

    /// Notes it beside a render.
    pub fn mark(self, made: &Path) {
        note::set(made, &format!("{:016x} {:016x}", self.place, self.text));
    }

    fn read(note: &str) -> Option<Self> {
        let (place, text) = note.split_once(' ')?;
        let number = |hex: &str| u64::from_str_radix(hex, 16).ok();
        Some(Self { place: number(place)?, text: number(text)? })
    }
}
