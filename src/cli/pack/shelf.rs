//! Packs as the arguments name them.

use crate::cli::args::Shelves;
use crate::cli::failure::Failure;
use crate::cli::request::user_packs;
use crate::pack::shelf::{OpenedPack, Shelf};

/// Where packs stand.
pub(in crate::cli) fn shelf(args: &Shelves) -> Shelf {
    Shelf { extra: args.packs.clone(), user: user_packs() }
}

/// A pack by its folder or its name.
pub(super) fn open(shelf: &Shelf, pack: &str) -> Result<OpenedPack, Failure> {
    shelf.open(pack).map_err(|error| Failure::Usage(error.to_string()))
}
