//! What makers of scripts and packs do: a script out of a whiteboard, a new pack, a new profile, a pack checked, the texts to be recorded,
//! one text heard, texts spoken into recordings.

pub mod bake;
pub mod board;
pub mod mend_profile;
pub mod new_pack;
pub mod new_profile;
pub mod pack_check;
pub mod prompts;
pub mod say;
