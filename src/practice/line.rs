//! One line of a set: its names resolved, its values laid over the repeats, its repeats predicted.

use super::{Leave, Line, Repeat, Text, breath, progression};
use crate::diag::{Code, Diagnostic, Span, Spanned, nearest};
use crate::pack::library::{Library, Role, Spoken};
use crate::script::{BeatSound, BeatTrack, Effort, Script, Swim, Timbre};
use crate::swimmer::{Manner, Swimmer};
use crate::units::level::Decibels;
use crate::units::swim::{Distance, Pace, PoolLength};
use crate::units::time::{LONGEST, Seconds, Tempo};

/// Under so much predicted rest a swimmer may miss the next start.
const LITTLE_REST: Seconds = Seconds::from_secs(5);
/// Starts of files fall on whole multiples of this, as on a pace clock.
pub const CLOCK: Seconds = Seconds::from_secs(5);
/// What a file's rest keeps after the 90th percentile of the touch.
const LATE_REST: Seconds = Seconds::from_secs(10);
/// How long a focus phrase and its short form may last.
const PHRASE_AT_MOST: [Seconds; 2] = [Seconds::from_millis(2500), Seconds::from_secs(1)];

/// What lines are checked against.
pub struct Context<'a> {
    /// The script.
    pub script: &'a Script,
    /// The packs' texts.
    pub library: &'a Library,
    /// The swimmer.
    pub swimmer: &'a Swimmer,
}

/// The time that a line takes at least: a bound to stop a script of more than a day before anything is expanded.
pub fn at_least(swim: &Swim, rounds: u32) -> f64 {
    // Nobody swims faster than 3 m/s.
    let swum = swim.distance.value.metres() / 3.0;
    let each = swim.send_off.map_or(swum, |s| s.value.as_f64().max(swum)) + swim.rest.map_or(0.0, |r| r.value.as_f64());
    each * f64::from(swim.repeats.value) * f64::from(rounds)
}

/// Checks a line. `follows`: whether another repeat of the set comes after its last one.
pub fn check(swim: &Swim, follows: bool, context: &Context<'_>, diagnostics: &mut Vec<Diagnostic>) -> Option<Line> {
    let pool = context.script.pool.value;
    let lengths = lengths(pool, swim.distance, diagnostics);
    let repeats = swim.repeats.value;
    let mut of = |progression: &Option<_>| {
        progression.as_ref().map_or_else(Vec::new, |p| progression::values(p, repeats, diagnostics))
    };
    let tempos: Vec<Tempo> = of(&swim.tempo);
    let paces: Vec<Pace> = swim.pace.as_ref().map_or_else(Vec::new, |p| progression::values(p, repeats, diagnostics));
    if let (Some(tempo), Some(pace)) = (&swim.tempo, &swim.pace) {
        let message = "a swim has a tempo or a pace: each decides the predicted time";
        diagnostics.push(
            Diagnostic::at(Code::Conflict, pace.span, message)
                .label(tempo.span, "the tempo")
                .hint("leave one out; `check` shows the pace that a tempo makes"),
        );
    }
    if let Some(tempo) = &swim.tempo {
        diagnostics.extend(progression::check_audible(&tempos, tempo.span));
    }
    let drill = swim.drill.as_ref().and_then(|drill| text(Role::Drill, drill, context.library, diagnostics));
    let focus = swim.focus.iter().flat_map(|focus| &focus.value.phrases);
    let focus: Vec<Text> =
        focus.filter_map(|phrase| text(Role::Phrase, phrase, context.library, diagnostics)).collect();
    let beats = beats(swim, context, diagnostics);
    if let Some(breathe) = &swim.breathe {
        diagnostics.extend(breath::check(breathe.value, swim.distance.value, breathe.span));
    }
    let leave = match (swim.send_off, swim.rest) {
        (Some(send_off), _) => Leave::SendOff(send_off.value),
        (None, Some(rest)) => Leave::Rest(rest.value),
        (None, None) => Leave::Open,
    };
    if leave == Leave::Open && (repeats > 1 || follows) {
        let message = format!("{repeats} x {} with neither rest nor send-off", swim.distance.value);
        let hint = "add `rest: 15 s`, or a send-off such as `on 1:30`";
        diagnostics.push(Diagnostic::at(Code::NoRest, swim.span, message).hint(hint));
    }
    Some(Line {
        span: swim.span,
        repeats,
        distance: swim.distance.value,
        lengths: lengths?,
        tempos,
        paces,
        per_minute: swim.tempo.as_ref().is_some_and(|tempo| tempo.value.per_minute),
        effort: swim.effort.map(|effort| effort.value),
        drill,
        beats,
        breathe: swim.breathe.map(|breathe| breathe.value),
        leave,
        focus,
        change: swim.focus.as_ref().filter(|f| f.value.phrases.len() > 1).map(|f| f.value.change.value),
    })
}

/// The repeats of a line in one round, predicted; reports send-offs that cannot be made.
pub fn repeats(line: &Line, index: usize, round: u32, context: &Context<'_>) -> Vec<Repeat> {
    let pool = context.script.pool.value;
    (0..line.repeats)
        .map(|number| {
            let tempo = nth(&line.tempos, number);
            let manner = match (nth(&line.paces, number), &line.drill, tempo) {
                (Some(pace), ..) => Manner::Pace(pace),
                (None, Some(_), _) => Manner::Drill,
                (None, None, Some(tempo)) => Manner::Tempo(tempo),
                (None, None, None) => Manner::Effort(line.effort.unwrap_or(Effort::Steady)),
            };
            let mut length = context.swimmer.predict(pool, manner);
            if line.drill.is_some() {
                length.count = None;
            }
            let predicted = length.time.times(u64::from(line.lengths));
            let uncertainty = context.swimmer.uncertainty(predicted);
            let interval = match line.leave {
                Leave::SendOff(send_off) => Some(send_off),
                // Rounded up to the clock, and never so short that a slow repeat runs into the next start.
                Leave::Rest(rest) => Some((predicted + rest).max(predicted + uncertainty + LATE_REST).ceil_to(CLOCK)),
                Leave::Open => None,
            };
            let lengths = line.lengths;
            Repeat {
                line: index,
                round,
                number,
                lengths,
                length,
                predicted,
                uncertainty,
                interval,
                tempo,
                focus: Vec::new(),
            }
        })
        .collect()
}

/// Reports a send-off that the slowest repeat cannot make, or makes with little rest.
pub fn check_send_off(line: &Line, repeats: &[Repeat], swimmer: &Swimmer) -> Option<Diagnostic> {
    let Leave::SendOff(send_off) = line.leave else { return None };
    let slowest = repeats.iter().max_by_key(|repeat| repeat.predicted)?;
    let of = swimmer.name.as_deref().unwrap_or("the assumed swimmer");
    let possible = (slowest.predicted + LATE_REST).ceil_to(CLOCK);
    if slowest.predicted >= send_off {
        let message = format!("the send-off {send_off} is not above the {} predicted for {of}", slowest.predicted);
        let hint = format!("`on {possible}` can be made; or give a faster swimmer with --swimmer");
        Some(Diagnostic::at(Code::SendOffTooShort, line.span, message).hint(hint))
    } else if send_off - slowest.predicted < LITTLE_REST {
        let rest = send_off - slowest.predicted;
        let message = format!(
            "{of} rests {:.1} s: touch predicted at {}, next start at {send_off}",
            rest.as_f64(),
            slowest.predicted
        );
        Some(Diagnostic::at(Code::LittleRest, line.span, message).hint(format!("`on {possible}` leaves at least 10 s")))
    } else {
        None
    }
}

/// The text that a script names, or a diagnostic with the nearest name that exists.
pub fn text(role: Role, name: &Spanned<String>, library: &Library, diagnostics: &mut Vec<Diagnostic>) -> Option<Text> {
    let kind = match role {
        Role::Phrase => "focus phrase",
        Role::Drill => "drill",
        Role::Say => "text to say",
        Role::Title => "title",
        Role::Word => "word",
    };
    let slug = name.value.trim().to_lowercase().replace(' ', "-");
    let Some((id, entry)) = library.of(role).find(|(id, _)| *id == slug) else {
        let near = nearest(&slug, library.of(role).map(|(id, _)| id));
        let some: Vec<&str> = library.of(role).map(|(id, _)| id).take(8).collect();
        let hint = match near {
            Some(near) => format!("did you mean `{near}`?"),
            None if some.is_empty() => "the packs in use have none".into(),
            None => format!("the packs in use have {} ...", some.join(", ")),
        };
        diagnostics
            .push(Diagnostic::at(Code::UnknownName, name.span, format!("unknown {kind} `{}`", name.value)).hint(hint));
        return None;
    };
    if role == Role::Phrase {
        for (form, most) in [Some(&entry.full), entry.short.as_ref()].into_iter().zip(PHRASE_AT_MOST) {
            diagnostics.extend(form.and_then(|form| phrase_too_long(form, most, name.span)));
        }
    }
    Some(Text { id: id.into(), full: entry.full.clone(), short: entry.short.clone(), span: name.span })
}

fn phrase_too_long(form: &Spoken, most: Seconds, span: Span) -> Option<Diagnostic> {
    (form.clip.is_some() && form.len > most).then(|| {
        let message = format!("\"{}\" lasts {:.1} s; at most {:.1} s", form.text, form.len.as_f64(), most.as_f64());
        Diagnostic::at(Code::PhraseTooLong, span, message).hint("say it in fewer words, or record it more briskly")
    })
}

fn lengths(pool: PoolLength, distance: Spanned<Distance>, diagnostics: &mut Vec<Diagnostic>) -> Option<u32> {
    let lengths = pool.lengths(distance.value);
    if lengths.is_none() {
        let (each, wanted) = (pool.distance().count(), distance.value.count());
        let unit = pool.unit().sign();
        let below = wanted / each * each;
        let near =
            if below == 0 { format!("{each} {unit}") } else { format!("{below} {unit} or {} {unit}", below + each) };
        let message = format!("{} is no whole number of lengths of {pool}", distance.value);
        diagnostics.push(Diagnostic::at(Code::NotWholeLengths, distance.span, message).hint(format!("swim {near}")));
    }
    lengths
}

/// The beat track of a swim: the one named, else plain wood where there is a tempo.
fn beats(swim: &Swim, context: &Context<'_>, diagnostics: &mut Vec<Diagnostic>) -> Option<BeatTrack> {
    let sound = BeatSound { timbre: Timbre::Wood, pitch: None, length: None, level: Decibels::ZERO };
    let plain = BeatTrack { sound, every: 1, accent: None };
    let Some(name) = &swim.beats else { return swim.tempo.as_ref().map(|_| plain) };
    if name.value == "none" {
        return None;
    }
    if swim.tempo.is_none() {
        let message = format!("beats `{}` without a tempo", name.value);
        diagnostics.push(Diagnostic::at(Code::Conflict, name.span, message).hint("add `tempo: 1.20 s`"));
    }
    let own = context.script.beats.iter().find(|(known, _)| known.value == name.value).map(|(_, track)| track);
    let found = own.or_else(|| context.library.beats(&name.value));
    if found.is_none() {
        let known = context.script.beats.iter().map(|(known, _)| known.value.as_str());
        let known: Vec<&str> = known.chain(context.library.beat_names()).chain(["none"]).collect();
        let hint = match nearest(&name.value, known.iter().copied()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("known: {}", known.join(", ")),
        };
        diagnostics.push(
            Diagnostic::at(Code::UnknownName, name.span, format!("unknown beat track `{}`", name.value)).hint(hint),
        );
    }
    found.cloned()
}

fn nth<T: Copy>(values: &[T], number: u32) -> Option<T> {
    values.get(number as usize).or(values.last()).copied()
}

/// A day, in seconds.
pub fn day() -> f64 {
    LONGEST.as_f64()
}
