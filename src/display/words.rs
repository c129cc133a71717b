//! What the screen says in words and numbers: from a snapshot to short texts. Where they stand is `view`'s job.

use super::front::{Front, Over};
use super::key_tables::Whose;
use crate::conductor::doubt::AskedTouch;
use crate::conductor::situation::{Activity, LateTouch, SwimmerIs};
use crate::session::snapshot::{DeviceState, Snapshot};
use crate::session::swim::{NumberOf, SwimFacts};
use crate::units::time::{NANOS, Seconds};

/// Below this the meter shows nothing.
const QUIETEST_DB: f64 = -48.0;

/// What is swum, or comes in a rest, in pieces that must not be parted.
pub fn what(snapshot: &Snapshot) -> Vec<String> {
    let Some(swum) = snapshot.swum.as_ref().filter(|_| snapshot.situation.phase != Activity::Over) else {
        return Vec::new();
    };
    let swims = snapshot.situation.phase == Activity::Swim;
    let mut pieces: Vec<String> = if swims { Vec::new() } else { vec!["next".to_owned()] };
    // A course is long: its laps and how far one is can stand on two lines.
    match swum.far.split_once(" of ") {
        Some((laps, far)) => pieces.extend([laps.to_owned(), format!("of {far}")]),
        None => pieces.push(swum.far.clone()),
    }
    pieces.extend(swum.manner.iter().flat_map(|words| words.split_whitespace()).map(str::to_owned));
    if swum.mixed {
        let now = snapshot.situation.length.and_then(|(now, _)| swum.lengths.get(now as usize));
        match now.filter(|_| swims) {
            Some(now) => pieces.extend(now.split_whitespace().map(str::to_owned)),
            None => {
                for (index, kind) in swum.kinds().into_iter().enumerate() {
                    pieces.extend((index > 0).then(|| "/".to_owned()));
                    pieces.extend(kind.split_whitespace().map(str::to_owned));
                }
            }
        }
    }
    pieces
}

/// Which round and repeat, in pieces; the set where it has only one.
pub fn which(snapshot: &Snapshot) -> Vec<String> {
    let Some(swum) = snapshot.swum.as_ref().filter(|_| snapshot.situation.phase != Activity::Over) else {
        return Vec::new();
    };
    let part = |word: &str, which: NumberOf| (which.of > 1).then(|| [word.to_owned(), of(which)]);
    let parts: Vec<_> = [part("round", swum.round), part("repeat", swum.repeat)].into_iter().flatten().collect();
    if parts.is_empty() { part("set", swum.set).into_iter().flatten().collect() } else { parts.concat() }
}

fn of(which: NumberOf) -> String {
    format!("{} of {}", which.number, which.of)
}

/// A text, and the same at its widest: letters must not change their size with every second.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wide {
    /// What stands there.
    pub text: String,
    /// The room for it.
    pub widest: String,
}

impl Wide {
    /// One that has a digit for every other.
    fn of(text: &str) -> Self {
        Self { text: text.to_owned(), widest: text.replace(|c: char| c.is_ascii_digit(), "0") }
    }
}

/// What goes on, and the time that matters: gone by in a swim, left in a rest.
pub fn time(snapshot: &Snapshot) -> Wide {
    let (now, situation) = (snapshot.elapsed, &snapshot.situation);
    let touch = situation.touched.zip(situation.go).map(|(split, go)| go + split).or(situation.predicted_touch);
    // Whoever waits at the wall reads here whose turn it is.
    if let (Activity::Swim, Some((number, go))) = (situation.phase, follower(snapshot)) {
        return in_seconds(&format!("{number} in"), left(go - now));
    }
    match (situation.phase, situation.go, situation.next_go, touch) {
        (Activity::Over, ..) => Wide::of(&format!("done {}", clock(now))),
        (Activity::Swim, Some(go), ..) => Wide::of(&format!("swim {}", clock(now - go))),
        (Activity::Rest | Activity::Talk, _, Some(next), _) => in_seconds("go in", left(next - now)),
        (Activity::Hold | Activity::Rest, _, _, Some(touch)) => Wide::of(&format!("rest {}", clock(now - touch))),
        (Activity::Hold, ..) => Wide::of("waiting"),
        _ if snapshot.total == Seconds::ZERO => Wide::of("getting ready"),
        _ => Wide::of(&format!("ends in {}", left(snapshot.total - now))),
    }
}

/// Words and the time that is left, as wide as two digits at least.
fn in_seconds(words: &str, left: String) -> Wide {
    let wide = Wide::of(&format!("{words} {left}"));
    if left.len() < 3 { Wide { widest: Wide::of(&format!("{words} 00")).widest, ..wide } } else { wide }
}

/// Who of a lane leaves next in the start that is under way, by number, and when.
fn follower(snapshot: &Snapshot) -> Option<(u32, Seconds)> {
    let situation = &snapshot.situation;
    let waits = situation.lane.iter().filter(|place| !matches!(place.whereabouts, SwimmerIs::Swims { .. }));
    let next = waits.filter_map(|place| Some((place.number, place.next_go?))).min_by_key(|(_, go)| *go)?;
    Some(next).filter(|(_, go)| situation.next_go.is_none_or(|clock| *go < clock))
}

/// What can be said of the next start beside the time, the longest first.
pub fn go(snapshot: &Snapshot, front: Front) -> Vec<Wide> {
    let situation = &snapshot.situation;
    let swims = situation.phase == Activity::Swim;
    match situation.next_go {
        _ if snapshot.paused => vec![Wide::of("paused: space goes on"), Wide::of("paused")],
        _ if situation.phase == Activity::Over => Vec::new(),
        _ if situation.held => vec![Wide::of("held: g lets go"), Wide::of("held")],
        Some(next) if swims => {
            let (left, on) = (left(next - snapshot.elapsed), reading(snapshot, front, next));
            let most = if left.len() > 4 { "00:00" } else { "0:00" };
            let whole = Wide { text: format!("go in {left} on {on}"), widest: format!("go in {most} on :00") };
            vec![whole, Wide::of(&format!("go on {on}")), Wide::of(&format!("go {on}"))]
        }
        Some(next) => vec![Wide::of(&format!("on {}", reading(snapshot, front, next)))],
        None if swims && situation.coming.is_some_and(|coming| coming.joined) => vec![Wide::of("straight on")],
        None if swims && situation.coming.is_none() => vec![Wide::of("the last one"), Wide::of("last")],
        None => Vec::new(),
    }
}

/// Whether the next start waits for somebody: then that must stand out.
pub const fn waits(snapshot: &Snapshot) -> bool {
    snapshot.paused || snapshot.situation.held
}

/// What a pace clock shows at a moment of the practice, `:40`: the one of the pool where somebody has set it, else the
/// practice's own.
pub fn reading(snapshot: &Snapshot, front: Front, at: Seconds) -> String {
    let shown = front.top.map_or(at, |top| snapshot.clock - top + (at - snapshot.elapsed));
    // Whole seconds gone by, like the clocks; a go that is on the second is so in spite of blocks and milliseconds.
    let seconds = (shown + Seconds::from_millis(50)).nanos().div_euclid(NANOS);
    format!(":{:02}", seconds.rem_euclid(60))
}

/// When the next go is and what comes then, or after it.
pub fn coming(snapshot: &Snapshot, front: Front) -> Option<String> {
    let (situation, swum) = (&snapshot.situation, snapshot.swum.as_ref()?);
    let whose = if front.top.is_some() { "the pool's clock" } else { "this clock" };
    let go =
        situation.next_go.map(|next| format!("go at {}, {} of {whose}", clock(next), reading(snapshot, front, next)));
    let next = snapshot.next.as_ref().map(|next| describe(next, swum));
    let joined = situation.coming.is_some_and(|coming| coming.joined);
    match (situation.phase, next) {
        (Activity::Over, _) => None,
        (Activity::Swim, Some(next)) if joined => Some(format!("then straight on: {next}")),
        (Activity::Swim, Some(next)) => {
            Some([Some(format!("then {next}")), go].into_iter().flatten().collect::<Vec<_>>().join(", "))
        }
        (Activity::Swim, None) => Some("nothing comes after this".to_owned()),
        (_, next) => {
            let after = next.map(|next| format!("after it {}{next}", if joined { "straight on: " } else { "" }));
            Some([go, after].into_iter().flatten().collect::<Vec<_>>().join("; "))
        }
    }
}

/// A start in one line, with its set where that is another.
fn describe(next: &SwimFacts, swum: &SwimFacts) -> String {
    let set = if next.set == swum.set { String::new() } else { format!("{}: ", next.title) };
    let mut text = format!("{set}{}", next.what());
    for (word, which) in [("round", next.round), ("repeat", next.repeat)] {
        if which.of > 1 {
            text.push_str(&format!(", {word} {}", of(which)));
        }
    }
    text
}

/// Something that everybody must see: in two or three words, and in whole sentences.
#[derive(Debug, PartialEq, Eq)]
pub struct Alarm {
    /// For reading from afar.
    pub short: String,
    /// Sentences, the one that matters most first.
    pub lines: Vec<String>,
}

/// The question that is open, or what went wrong and has not been seen.
pub fn alarm(snapshot: &Snapshot, front: Front) -> Option<Alarm> {
    if front.over == Over::Stop {
        let ask = "Stop here? q or y stops; what was swum is kept. Any other key plays on.";
        return Some(Alarm { short: "stop?".to_owned(), lines: vec![ask.to_owned()] });
    }
    if let Over::Tempo(entry) = front.over {
        let text = entry.text();
        let ask = if entry.is_refused() {
            format!("{text} is no tempo: 0.40 to 2.50 s, in hundredths. Backspace, or Esc leaves it.")
        } else {
            format!("Tempo {text}_ s a stroke? Enter takes it, Esc leaves it.")
        };
        return Some(Alarm { short: format!("tempo {text}_"), lines: vec![ask] });
    }
    if let Over::Whose(whose) = front.over {
        let (short, what) = match whose {
            Whose::OutOrIn => ("out or in: who?", "sits out, or swims again"),
            Whose::Ahead => ("passes: who?", "leaves one place earlier"),
            Whose::Caught => ("caught: who?", "was caught"),
        };
        let ask = format!("Who {what}? Their number, 1 to 8; any other key leaves it.");
        return Some(Alarm { short: short.to_owned(), lines: vec![ask] });
    }
    if let Some(AskedTouch { split, number: Some(number) }) = snapshot.doubt {
        let ask = format!("{} at the wall at {}? {number} again takes it.", snapshot.called(number), clock(split));
        return Some(Alarm { short: format!("{number} at {}?", clock(split)), lines: vec![ask] });
    }
    if let Some(AskedTouch { split, number: None }) = snapshot.doubt {
        // Nobody has keyed the touch before: this one is taken for it.
        let late = match snapshot.situation.late {
            Some(LateTouch::Missed) => " for the repeat before; this one is then missed",
            Some(LateTouch::Turn) | None => "",
        };
        let ask = format!("Touch at {}? t again takes it{late}.", clock(split));
        return Some(Alarm { short: format!("touch at {}?", clock(split)), lines: vec![ask] });
    }
    let (device, sounds) = device(snapshot);
    let unseen: Vec<_> = snapshot.faults.iter().rev().filter(|fault| fault.number > front.seen).collect();
    let short = if sounds { unseen.first()?.short.clone() } else { "no sound".to_owned() };
    let mut lines: Vec<String> = unseen.iter().map(|fault| fault.words.clone()).collect();
    if let Some(first) = lines.first_mut() {
        first.insert_str(0, "[enter] ");
    }
    if !sounds {
        lines.insert(0, device);
    }
    Some(Alarm { short, lines })
}

/// What each length is, as one line where there is no room below the lane.
pub fn lengths(snapshot: &Snapshot) -> Option<String> {
    let (now, all) = snapshot.situation.length?;
    let lengths = &snapshot.swum.as_ref()?.lengths;
    let kind = |length: u32| lengths.get(length as usize).filter(|kind| !kind.is_empty());
    match snapshot.situation.phase {
        Activity::Swim if all > 1 => {
            let is = kind(now).map_or(String::new(), |kind| format!(": {kind}"));
            let then = kind(now + 1).filter(|then| Some(*then) != kind(now)).map(|then| format!(", then {then}"));
            Some(format!("length {} of {all}{is}{}", now + 1, then.unwrap_or_default()))
        }
        Activity::Over | Activity::Swim => None,
        _ if lengths.is_empty() => (all > 1).then(|| format!("{all} lengths")),
        _ => Some(format!("{all} lengths: {}", lengths.join(", "))),
    }
}

/// What is read from near of this repeat, what matters most first.
pub fn facts(snapshot: &Snapshot) -> Vec<String> {
    let every = snapshot.situation.every.map(|every| format!("every {every}"));
    let rest = snapshot.swum.as_ref().and_then(|swum| swum.rest).map(|rest| format!("rest {rest}"));
    let mind = snapshot.swum.as_ref().map_or_else(Vec::new, |swum| swum.mind.clone());
    let own = [every.or(rest), faders(snapshot), tempo(snapshot), touch(snapshot)];
    let splits = splits(snapshot).into_iter().skip(usize::from(snapshot.situation.touched.is_some()));
    own.into_iter().flatten().chain(mind).chain(splits).collect()
}

/// How much of the swim is done, or of the rest is left, 0 to 1.
pub fn share(snapshot: &Snapshot) -> Option<f64> {
    let (now, situation) = (snapshot.elapsed, &snapshot.situation);
    let part = |part: Seconds, whole: Seconds| (whole > Seconds::ZERO).then(|| part.as_f64() / whole.as_f64());
    let share = match situation.phase {
        Activity::Swim => part(now - situation.go?, situation.predicted_touch? - situation.go?),
        Activity::Rest => {
            let touch = situation.touched.zip(situation.go).map(|(split, go)| go + split);
            let touch = touch.or(situation.predicted_touch)?;
            part(situation.next_go? - now, situation.next_go? - touch)
        }
        Activity::Talk | Activity::Hold | Activity::Over => None,
    };
    share.map(|share| share.clamp(0.0, 1.0))
}

/// The touch that is expected, or the last one.
fn touch(snapshot: &Snapshot) -> Option<String> {
    let situation = &snapshot.situation;
    // In a lane each has a touch of their own.
    let alone = situation.lane.is_empty();
    let expected = situation.predicted_touch.filter(|_| alone)? - situation.go?;
    match (situation.touched, situation.phase) {
        (Some(split), _) => Some(format!("touch {}, {}", tenths(split), against(split, expected))),
        (None, Activity::Swim) => Some(format!("touch expected {}", tenths(expected))),
        (None, Activity::Rest | Activity::Hold) => Some(format!("touch expected {}, none taken", tenths(expected))),
        (None, Activity::Talk | Activity::Over) => None,
    }
}

/// The last touches, the newest first.
fn splits(snapshot: &Snapshot) -> Vec<String> {
    let text = |split: &crate::session::snapshot::Split| {
        let whose = split.number.map(|number| format!("{}, ", snapshot.called(number)));
        let place = format!("{}set {}, repeat {}", whose.unwrap_or_default(), split.set + 1, split.repeat + 1);
        format!("{place}: {}, {}", tenths(split.split), against(split.split, split.predicted))
    };
    snapshot.splits.iter().rev().map(text).collect()
}

/// The tempo in both readings, and what was changed by hand.
fn tempo(snapshot: &Snapshot) -> Option<String> {
    let tempo = snapshot.situation.tempo?;
    let text = format!("tempo {tempo}, {:.1} /min", tempo.rate());
    let hundredths = f64::from(snapshot.situation.nudge.unsigned_abs()) / 100.0;
    Some(match snapshot.situation.nudge {
        0 => text,
        1.. => format!("{text} ({hundredths:.2} s slower)"),
        _ => format!("{text} ({hundredths:.2} s faster)"),
    })
}

/// What was changed at the faders.
fn faders(snapshot: &Snapshot) -> Option<String> {
    let situation = &snapshot.situation;
    let fader = |name: &str, db: f64| (db.abs() >= 0.05).then(|| format!("{name} {db:+.0} dB"));
    let beats = if situation.muted { Some("beats off".to_owned()) } else { fader("beats", situation.beats_db) };
    let texts: Vec<_> = [fader("voice", situation.voice_db), beats].into_iter().flatten().collect();
    (!texts.is_empty()).then(|| texts.join(", "))
}

/// What the sound goes to, and whether that is as it should be.
pub fn device(snapshot: &Snapshot) -> (String, bool) {
    match &snapshot.device {
        DeviceState::Simulated => ("no device: a dry run".to_owned(), true),
        DeviceState::Playing { name, .. } => (name.clone(), true),
        DeviceState::Stalled { name, since } => (format!("NO SOUND since {}: {name} stalls", clock(*since)), false),
        DeviceState::Lost { since, why } => (format!("NO SOUND since {}: {why}", clock(*since)), false),
    }
}

/// What comes late, and what was not heard.
pub fn missed(snapshot: &Snapshot) -> Option<String> {
    let part = |count: u64, one: &str| match count {
        0 => None,
        1 => Some(format!("1 {one}")),
        _ => Some(format!("{count} {one}s")),
    };
    let parts = [part(snapshot.missed_blocks, "block"), part(snapshot.missed_cues, "cue")];
    let parts: Vec<_> = parts.into_iter().flatten().collect();
    let missed = (!parts.is_empty()).then(|| format!("missed {}", parts.join(" and ")));
    let behind = snapshot.behind.map(|behind| format!("{:.1} s behind", behind.as_f64()));
    let all: Vec<_> = [behind, missed].into_iter().flatten().collect();
    (!all.is_empty()).then(|| all.join(", "))
}

/// The level in dB of full scale as text, and as a share of the meter.
pub fn level(peak: f32) -> (String, f64) {
    let db = 20.0 * libm::log10(f64::from(peak.clamp(0.0, 4.0)));
    if db.is_nan() || db < QUIETEST_DB {
        return ("silent".to_owned(), 0.0);
    }
    (format!("{db:.0} dB"), (1.0 - db / QUIETEST_DB).clamp(0.0, 1.0))
}

/// Whole seconds gone by, `m:ss`.
pub fn clock(time: Seconds) -> String {
    Seconds::from_secs(time.nanos().max(0) / NANOS).to_string()
}

/// Whole seconds that are left, begun ones counted: it shows 1 until the go. Under a minute without minutes.
pub fn left(time: Seconds) -> String {
    let seconds = time.ceil_to(Seconds::from_secs(1)).nanos().max(0) / NANOS;
    if seconds < 60 { seconds.to_string() } else { Seconds::from_secs(seconds).to_string() }
}

/// A split: tenths always.
pub fn tenths(time: Seconds) -> String {
    let text = time.to_string();
    if text.contains('.') { text } else { format!("{text}.0") }
}

fn against(split: Seconds, expected: Seconds) -> String {
    let tenth = (split - expected).as_f64();
    if tenth.abs() < 0.05 { "as expected".to_owned() } else { format!("{tenth:+.1} s on expected") }
}

#[cfg(test)]
mod tests;
