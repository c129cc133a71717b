//! A list of texts read aloud into a telephone, in one long take or in many files, made a pack's recordings.
//!
//! `heard` parts the files into sounds, `align` lays those beside the texts by length and order, `desk` is the pass in which a
//! person decides on each, as a machine without device or file; `live` runs it. Files are given decoded and are never written.

pub mod align;
pub mod answer;
pub mod desk;
pub mod heard;
pub mod live;

/// The longest file that is read, in seconds: beyond half an hour nobody speaks as at the beginning.
pub const LONGEST: u64 = 30 * 60;
