//! What the screen says in words and numbers: from a snapshot to short texts. Where they stand is `view`'s job.

use crate::conductor::situation::Activity;
use crate::session::snapshot::{DeviceState, Snapshot};
use crate::units::time::Seconds;

/// Below this the meter shows nothing.
const QUIETEST_DB: f64 = -48.0;

/// What goes on, in one word.
pub const fn phase(snapshot: &Snapshot) -> &'static str {
    match snapshot.situation.phase {
        _ if snapshot.paused => "pause",
        Activity::Talk => "listen",
        Activity::Swim => "swim",
        Activity::Rest => "rest",
        Activity::Hold => "held",
        Activity::Over => "done",
    }
}

/// The time that matters now, and what it is counted from or to.
pub fn count(snapshot: &Snapshot) -> (String, &'static str) {
    let (now, situation) = (snapshot.elapsed, &snapshot.situation);
    let touch = situation.touched.zip(situation.go).map(|(split, go)| go + split).or(situation.predicted_touch);
    match (situation.phase, situation.go, situation.next_go, touch) {
        (Activity::Over, ..) => (clock(snapshot.elapsed), "the whole practice"),
        (Activity::Swim, Some(go), ..) => (clock(now - go), "since the go"),
        (Activity::Rest | Activity::Talk, _, Some(next), _) => (left(next - now), "to the next go"),
        (Activity::Hold | Activity::Rest, _, _, Some(touch)) => (clock(now - touch), "resting"),
        _ => (clock(snapshot.total - now), "left of the practice"),
    }
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
pub fn touch(snapshot: &Snapshot) -> Option<String> {
    let situation = &snapshot.situation;
    let expected = situation.predicted_touch? - situation.go?;
    match (situation.touched, situation.phase) {
        (Some(split), _) => Some(format!("touch {}, {}", tenths(split), against(split, expected))),
        (None, Activity::Swim) => Some(format!("touch expected {}", tenths(expected))),
        (None, Activity::Rest | Activity::Hold) => Some(format!("touch expected {}, none taken", tenths(expected))),
        (None, Activity::Talk | Activity::Over) => None,
    }
}

/// The last touches, the newest first.
pub fn splits(snapshot: &Snapshot) -> Vec<String> {
    let text = |split: &crate::session::snapshot::Split| {
        let place = format!("set {}, repeat {}", split.set + 1, split.repeat + 1);
        format!("{place}: {}, {}", tenths(split.split), against(split.split, split.predicted))
    };
    snapshot.splits.iter().rev().map(text).collect()
}

/// The tempo in both readings, and what was changed by hand.
pub fn tempo(snapshot: &Snapshot) -> Option<String> {
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
pub fn faders(snapshot: &Snapshot) -> Option<String> {
    let situation = &snapshot.situation;
    let fader = |name: &str, db: f64| (db.abs() >= 0.05).then(|| format!("{name} {db:+.0} dB"));
    let beats = if situation.muted { Some("beats off".to_owned()) } else { fader("beats", situation.beats_db) };
    let texts: Vec<_> = [fader("voice", situation.voice_db), beats].into_iter().flatten().collect();
    (!texts.is_empty()).then(|| texts.join(", "))
}

/// Where the swimmer is thought to be.
pub fn length(snapshot: &Snapshot) -> Option<String> {
    let (now, all) = snapshot.situation.length?;
    (all > 1 && snapshot.situation.phase == Activity::Swim).then(|| format!("length {} of {all}", now + 1))
}

/// What the sound goes to, and whether that is as it should be.
pub fn device(snapshot: &Snapshot) -> (String, bool) {
    match &snapshot.device {
        DeviceState::Simulated => ("no device: a dry run".to_owned(), true),
        DeviceState::Playing { name, rate, buffer } => (format!("{name}, {rate} Hz, {buffer} frames"), true),
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
    let seconds = time.nanos().max(0) / crate::units::time::NANOS;
    Seconds::from_secs(seconds).to_string()
}

/// Whole seconds that are left, begun ones counted: it shows 1 until the go. Under a minute without minutes.
fn left(time: Seconds) -> String {
    let seconds = time.ceil_to(Seconds::from_secs(1)).nanos().max(0) / crate::units::time::NANOS;
    if seconds < 60 { seconds.to_string() } else { Seconds::from_secs(seconds).to_string() }
}

/// A split: tenths always.
fn tenths(time: Seconds) -> String {
    let text = time.to_string();
    if text.contains('.') { text } else { format!("{text}.0") }
}

fn against(split: Seconds, expected: Seconds) -> String {
    let tenth = (split - expected).as_f64();
    if tenth.abs() < 0.05 { "as expected".to_owned() } else { format!("{tenth:+.1} s on expected") }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::conductor::situation::Situation;
    use crate::units::time::Tempo;

    fn at(millis: i64, phase: Activity, go: i64, touch: i64, next: i64) -> Snapshot {
        let time = |secs: i64| (secs > 0).then(|| Seconds::from_secs(secs));
        let situation = Situation {
            phase,
            go: time(go),
            predicted_touch: time(touch),
            next_go: time(next),
            ..Situation::default()
        };
        let total = Seconds::from_secs(600);
        Snapshot { elapsed: Seconds::from_millis(millis), total, situation, ..Snapshot::default() }
    }

    #[test]
    fn the_count_is_the_time_that_matters() {
        for (snapshot, expected) in [
            (at(100_000, Activity::Swim, 60, 118, 140), "0:40"),
            (at(139_999, Activity::Rest, 60, 118, 140), "1"),
            (at(118_000, Activity::Rest, 60, 118, 140), "22"),
            (at(118_000, Activity::Rest, 60, 118, 240), "2:02"),
            (at(130_500, Activity::Hold, 60, 118, 0), "0:12"),
            (at(20_000, Activity::Talk, 0, 0, 61), "41"),
            (at(540_000, Activity::Talk, 0, 0, 0), "1:00"),
            (at(600_900, Activity::Over, 60, 118, 0), "10:00"),
        ] {
            assert_eq!(count(&snapshot).0, expected, "{:?}", snapshot.situation);
        }
    }

    #[test]
    fn rest_is_counted_from_the_true_touch() {
        let mut snapshot = at(125_000, Activity::Hold, 60, 118, 0);
        snapshot.situation.touched = Some(Seconds::from_millis(61_300));
        assert_eq!(count(&snapshot).0, "0:03");
        assert_eq!(touch(&snapshot).unwrap(), "touch 1:01.3, +3.3 s on expected");
        snapshot.situation.touched = None;
        assert_eq!(touch(&snapshot).unwrap(), "touch expected 0:58.0, none taken");
    }

    #[test]
    fn tempo_is_reported_in_both_readings() {
        let mut snapshot = Snapshot::default();
        snapshot.situation.tempo = Some(Tempo::from_centis(110));
        snapshot.situation.nudge = -2;
        // Arithmetic: 60 / 1.10.
        assert_eq!(tempo(&snapshot).unwrap(), "tempo 1.10 s, 54.5 /min (0.02 s faster)");
    }

    #[test]
    fn levels_are_of_full_scale() {
        assert_eq!(level(0.0), ("silent".to_owned(), 0.0));
        assert_eq!(level(1.0).1, 1.0);
        assert_eq!(level(0.5).0, "-6 dB");
        assert_eq!(level(f32::NAN).1, 0.0);
    }

    #[test]
    fn trouble_is_reported() {
        let mut snapshot = Snapshot { missed_blocks: 1, missed_cues: 2, ..Snapshot::default() };
        assert_eq!(missed(&snapshot).unwrap(), "missed 1 block and 2 cues");
        snapshot.behind = Some(Seconds::from_millis(3_140));
        assert_eq!(missed(&snapshot).unwrap(), "3.1 s behind, missed 1 block and 2 cues");
        snapshot.device = DeviceState::Lost { since: Seconds::from_secs(724), why: "it was unplugged".into() };
        assert_eq!(device(&snapshot), ("NO SOUND since 12:04: it was unplugged".to_owned(), false));
    }
}
