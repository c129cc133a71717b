//! From a practice to its timeline: for a player track by track, for everybody else as one.

use super::built::Built;
use super::lay::Layer;
use super::schedule::schedule;
use super::speak::Announcer;
use super::tracks;
use crate::pack::library::Library;
use crate::practice::{Audience, Practice};

/// Builds the timeline of a practice.
pub fn build(practice: &Practice, library: &Library) -> Built {
    let announcer = Announcer::new(library);
    if practice.audience == Audience::Player {
        return tracks::build(practice, announcer);
    }
    let mut layer = Layer::new(practice, announcer);
    let strand = layer.lay_all(schedule(practice, announcer));
    layer.built(strand, Vec::new())
}
