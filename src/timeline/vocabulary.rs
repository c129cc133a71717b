//! Every sound that steering may come to need. The bank of a session is made before anybody steers, so what is not in it
//! cannot be said.
//!
//! The words come from where they come when a start is laid (`before`, `under_way`, `beats`), asked without regard to
//! time. Left out is what follows from a tempo that nobody has planned.

use super::before::{self, Approach};
use super::built::Built;
use super::lay::Layer;
use super::speak::Announcer;
use super::start::Start;
use super::under_way;
use super::{CueKind, Sound, Timeline, beats};
use crate::pack::library::Library;
use crate::practice::Practice;
use crate::units::time::LONGEST;

/// The timeline with the vocabulary of steering. Its own sounds keep their places, so that without a command the same is
/// heard.
pub fn with_vocabulary(built: &Built, practice: &Practice, library: &Library) -> Timeline {
    let mut timeline = built.timeline.clone();
    let announcer = Announcer::new(library);
    let layer = Layer::under_way(practice, library, &[]);
    let starts = &built.strand.starts;
    let mut sounds = vec![Sound::Pip, Sound::Go];
    for (index, start) in starts.iter().enumerate() {
        let before = index.checked_sub(1).and_then(|before| starts.get(before));
        sounds.extend(of_start(&layer, announcer, start, before));
    }
    timeline.learn(sounds);
    timeline
}

/// The sounds of whatever may be heard of one start.
fn of_start(layer: &Layer<'_>, announcer: Announcer<'_>, start: &Start, before: Option<&Start>) -> Vec<Sound> {
    let Some((set, line)) = layer.set(start).zip(layer.line(start)) else { return Vec::new() };
    let practice = layer.practice();
    // As if there had been time for anything before it.
    let long_ago = start.go - LONGEST;
    let mut said = before::requests(practice, announcer, Approach { start, set, line, before }, long_ago);
    said.extend(under_way::requests(practice, start, line, None, announcer));
    let said = said.into_iter().filter(|request| request.kind != CueKind::Preview);
    let utterances = said.flat_map(|request| request.forms).chain(under_way::possible(start, line, announcer));
    let spoken = start.talk.iter().filter(|placed| !matches!(placed.kind, CueKind::Preview | CueKind::Wall));
    let talk = spoken.map(|placed| placed.said.clone());
    // Who skips to it hears all of it, its drills explained or not, whatever was worn before.
    let mut known = Vec::new();
    let afresh = [None, before].into_iter().flat_map(|before| layer.afresh(start, before, &mut known));
    let afresh =
        afresh.filter(|placed| !matches!(placed.kind, CueKind::Preview | CueKind::Wall)).map(|placed| placed.said);
    let afresh = afresh.chain(announcer.gear(&line.gear, &[]));
    let words = utterances.chain(talk).chain(afresh).flat_map(|said| said.sounds().collect::<Vec<_>>());
    let walls = line.marks.then_some(Sound::Wall);
    words.chain(beats::palette(line, practice.water)).chain(walls).collect()
}
