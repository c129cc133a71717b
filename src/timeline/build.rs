//! From a practice to its timeline: for a player track by track, for everybody else as one.

use super::built::Built;
use super::lay::Layer;
use super::schedule::schedule;
use super::speak::Announcer;
use super::strand::legs;
use super::{Timeline, tracks};
use crate::pack::library::Library;
use crate::practice::{Audience, Practice};
use crate::units::time::Seconds;

/// Builds the timeline of a practice.
pub fn build(practice: &Practice, library: &Library) -> Built {
    let announcer = Announcer::new(library);
    if practice.audience == Audience::Player {
        return tracks::build(practice, announcer);
    }
    let mut layer = Layer::new(practice, announcer);
    let strand = layer.lay_all(schedule(practice, announcer));
    let (legs, _) = legs(&[&strand], Seconds::ZERO);
    let (sounds, findings) = layer.finish();
    let timeline = Timeline { legs, sounds, ducking: practice.settings.ducking };
    Built { timeline, strand, followers: Vec::new(), tracks: Vec::new(), findings }
}
