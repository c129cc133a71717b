//! The practice drawn to scale: sets, swims, tempos, words, signals and beats above one axis of time.
//!
//! Lines and bars are in seconds, below one scale that the page's script changes; so is the place of each label, which a
//! scale would stretch. Without the script it is the whole practice in one width.

use super::said::{PageCue, cues};
use super::span::Millis;
use super::typed::isolated;
use crate::plan::deck::whole;
use crate::plan::{Plan, SetPlan};
use crate::prepare::Planned;
use crate::timeline::{CueKind, Grid, Leg};
use crate::units::time::{Seconds, Tempo, beat_time};
use maud::{Markup, html};
use std::fmt::Write;
use unicode_width::UnicodeWidthStr;

/// The width without the page's script, in pixels.
const WIDTH: i64 = 1_000;
/// The height.
const HEIGHT: u32 = 176;
/// A minute, in milliseconds.
const MINUTE: i64 = 60_000;
/// Where the line of a tempo lies, from the quickest of the practice to the slowest.
const TEMPO: [f64; 2] = [76.0, 98.0];
/// So many beats are one of the next coarser step: fewer are drawn where they would run together.
const COARSER: u32 = 4;

/// The drawing, and what it shows in words.
pub fn timeline(planned: &Planned) -> Markup {
    let plan = &planned.plan;
    let len = Millis::from(plan.duration).0.max(1);
    let drawn = DrawnWidth { len };
    let view = format!("0 0 {WIDTH} {HEIGHT}");
    let summary = format!(
        "{} sets over {}: a bar for each swim, above it the set, below it tempo, words, signals and beats. The tables below hold the same.",
        plan.sets.len(),
        whole(plan.duration)
    );
    html! {
        div.controls {
            button type="button" data-zoom="out" { "Wider view" }
            button type="button" data-zoom="in" { "Closer view" }
            button type="button" data-zoom="all" { "All of it" }
        }
        div.strip tabindex="0" role="region" aria-label="The practice drawn to scale; scrolls sideways" {
            svg viewBox=(view) width=(WIDTH) height=(HEIGHT) role="img" aria-label=(summary)
                data-len=(Millis(len)) preserveAspectRatio="none" {
                g.scaled transform=(format!("scale({:.6} 1)", WIDTH as f64 * 1e3 / len as f64)) {
                    (axis(len))
                    @for set in &plan.sets { (bars(set)) }
                    (tempos(plan))
                    @for cue in cues(planned) { (mark(&cue)) }
                    @for leg in &planned.built.timeline.legs { @for grid in &leg.grids { (beats(leg, grid)) } }
                }
                (labels(planned, &drawn))
            }
            div.head hidden {}
        }
        ul.legend {
            li.swim { "swim" } li.tempo { "tempo: quicker is higher" } li.phrase { "focus phrase" } li.voice { "other words" }
            li.go { "go and countdown" } li.beat { "beats; closer views show each" }
        }
    }
}

/// The width that there is without the page's script.
struct DrawnWidth {
    /// Of the practice, in milliseconds.
    len: i64,
}

impl DrawnWidth {
    /// A text that begins at a time, of which nothing follows in its row for so long.
    fn label(&self, row: u32, class: &str, at: Seconds, room: Seconds, text: &str) -> Markup {
        let (at, room) = (Millis::from(at), Millis::from(room));
        let x = at.0 as f64 * WIDTH as f64 / self.len as f64;
        // Whether it fits: a letter takes about seven pixels.
        let fits = room.0 as f64 * WIDTH as f64 / self.len as f64 > 7.0 * text.width() as f64;
        html! {
            text.(class).off[!fits] x=(format!("{x:.1}")) y=(row) data-at=(at) data-room=(room) { (text) }
        }
    }
}

fn axis(len: i64) -> Markup {
    let mut minutes = String::new();
    for minute in 0..=len / MINUTE {
        // Writing to a String cannot fail.
        let _ = write!(minutes, "M{} 16v4", Millis(minute * MINUTE));
    }
    html! { path.axis d=(format!("M0 20H{}", Millis(len))) {} path.axis d=(minutes) {} }
}

fn bars(set: &SetPlan) -> Markup {
    let rect = |class: &str, row: u32, from: Seconds, to: Seconds, height: u32| {
        let (x, width) = (Millis::from(from), Millis(Millis::from(to).0 - Millis::from(from).0));
        html! { rect.(class) x=(x) y=(row) width=(width) height=(height) {} }
    };
    html! {
        (rect("set", 26, set.start, set.end, 16))
        @for repeat in &set.repeats { (rect("swim", 46, repeat.start, repeat.start + repeat.predicted, 18)) }
    }
}

/// How high the line of each tempo lies.
struct TempoHeights {
    quickest: f64,
    slowest: f64,
}

impl TempoHeights {
    fn of(plan: &Plan) -> Self {
        let tempos = plan.sets.iter().flat_map(|set| &set.repeats).filter_map(|repeat| repeat.tempo);
        let range = |(low, high): (f64, f64), tempo: Tempo| (low.min(tempo.as_f64()), high.max(tempo.as_f64()));
        let (quickest, slowest) = tempos.fold((f64::MAX, f64::MIN), range);
        Self { quickest, slowest }
    }

    fn y(&self, tempo: Tempo) -> f64 {
        let [top, bottom] = TEMPO;
        let range = self.slowest - self.quickest;
        if range > 0.0 { top + (bottom - top) * (tempo.as_f64() - self.quickest) / range } else { (top + bottom) / 2.0 }
    }
}

fn tempos(plan: &Plan) -> Markup {
    let row = TempoHeights::of(plan);
    let mut path = String::new();
    for repeat in plan.sets.iter().flat_map(|set| &set.repeats) {
        if let Some(tempo) = repeat.tempo {
            let end = Millis::from(repeat.start + repeat.predicted);
            let _ = write!(path, "M{} {:.1}H{end}", Millis::from(repeat.start), row.y(tempo));
        }
    }
    html! { path.tempo d=(path) {} }
}

/// What a cue looks like: words have their length, signals a moment.
fn mark(PageCue { number, at, cue }: &PageCue<'_>) -> Markup {
    let (class, row, height) = match cue.kind {
        CueKind::Phrase => ("phrase", 122, 12),
        kind if kind.is_voice() => ("voice", 122, 12),
        CueKind::Go => ("go", 138, 14),
        CueKind::Pip => ("pip", 142, 10),
        _ => ("other", 142, 10),
    };
    html! {
        rect.(class) data-cue=(number) data-at=(Millis::from(*at)) x=(Millis::from(*at)) y=(row)
            width=(Millis::from(cue.len)) height=(height) {}
    }
}

/// The beats of a grid, those that a wide view has too apart from the finer ones.
fn beats(leg: &Leg, grid: &Grid) -> Markup {
    let mut paths = [String::new(), String::new(), String::new()];
    for beat in &grid.beats {
        let step = if beat.k % (COARSER * COARSER) == 0 {
            0
        } else if beat.k % COARSER == 0 {
            1
        } else {
            2
        };
        let at = Millis::from(beat_time(leg.origin + grid.origin, u64::from(beat.k), grid.tempo));
        let height = if beat.kind == CueKind::Beat { 8 } else { 14 };
        if let Some(path) = paths.get_mut(step) {
            let _ = write!(path, "M{at} 170v-{height}");
        }
    }
    html! {
        @for (path, class) in paths.iter().zip(["coarse", "middle", "fine"]) {
            @if !path.is_empty() { path.beat.(class) d=(path) {} }
        }
    }
}

fn labels(planned: &Planned, drawn: &DrawnWidth) -> Markup {
    let plan = &planned.plan;
    let minutes = (0..drawn.len / MINUTE).map(|minute| {
        // The rounder a time, the wider the view that still shows it.
        let room = [10, 5].into_iter().find(|step| minute % step == 0).unwrap_or(1);
        (Seconds::from_secs(minute * 60), Seconds::from_secs(room * 60))
    });
    let row = TempoHeights::of(plan);
    let spoken: Vec<PageCue<'_>> = cues(planned).filter(|cue| cue.cue.kind.is_voice()).collect();
    let next = spoken.iter().skip(1).map(|cue| cue.at).chain([plan.duration]);
    html! {
        @for (at, room) in minutes { (drawn.label(12, "minute", at, room, &at.to_string())) }
        @for set in &plan.sets { (drawn.label(38, "title", set.start, set.end - set.start, &isolated(&set.title))) }
        @for repeat in plan.sets.iter().flat_map(|set| &set.repeats) {
            (drawn.label(59, "far", repeat.start, repeat.predicted, &repeat.distance.to_string()))
            @if let Some(tempo) = repeat.tempo {
                @let count = repeat.count.map(|count| format!(" · {count:.0}")).unwrap_or_default();
                @let text = format!("{:.2} s{count}", tempo.as_f64());
                @let y = libm::round(row.y(tempo)) as u32 - 4;
                (drawn.label(y, "figure", repeat.start, repeat.predicted, &text))
            }
        }
        @for (cue, next) in spoken.iter().zip(next) {
            (drawn.label(116, "words", cue.at, next - cue.at, &isolated(&cue.cue.text)))
        }
    }
}
