//! Lanes as a page: who is where when, drawn for one repeat and for the whole set, the figures, and the advice.

use super::chart::{Axis, Chart};
use super::document::Document;
use super::typed::{DecimalMark, isolated, typed};
use crate::diag::shown::printable;
use crate::lane::run::{StartRun, from_wall};
use crate::units::time::Seconds;
use maud::{Markup, html};

/// The lanes of a practice, with what was found of them in words.
#[derive(Clone, Debug)]
pub struct LanesPage<'l> {
    /// The practice's title.
    pub title: &'l str,
    /// Its lanes.
    pub lanes: Vec<LanePart<'l>>,
    /// How it was found.
    pub found: String,
    /// How its numbers are written.
    pub decimals: DecimalMark,
}

/// One lane.
#[derive(Clone, Debug)]
pub struct LanePart<'l> {
    /// What it is called.
    pub name: &'l str,
    /// Pool, swimmers, gap, way round.
    pub about: String,
    /// The pool, in metres.
    pub pool: f64,
    /// Who swims, in the order of leaving.
    pub swimmers: Vec<&'l str>,
    /// Its sets.
    pub sets: Vec<LanePartSet<'l>>,
    /// What would work better, in one line each.
    pub advice: Vec<String>,
}

/// A set of a lane.
#[derive(Clone, Debug)]
pub struct LanePartSet<'l> {
    /// Its title.
    pub title: &'l str,
    /// What is swum.
    pub what: String,
    /// Its first go.
    pub go: Seconds,
    /// Its table: the head, then a row for each swimmer.
    pub rows: Vec<[String; 6]>,
    /// What holds for the whole lane.
    pub notes: Vec<String>,
    /// The set as it is predicted.
    pub starts: &'l [StartRun],
}

/// So many swimmers have a line of their own kind.
const KINDS: usize = 8;
/// A minute of a whole set, in pixels.
const MINUTE: f64 = 110.0;

impl LanesPage<'_> {
    /// What tells pages of these lanes from others.
    pub fn identity(&self) -> String {
        format!("the lanes of {}", self.title)
    }

    /// The file.
    pub fn html(&self) -> String {
        let body = html! {
            header { h1 { (typed(self.title)) } p { "Who is where when, and what would work better" } }
            main {
                @for lane in &self.lanes { (part(lane)) }
                p.note { (self.found) }
                p.care { "A coach watches the water, not the screen. Nobody swims where they cannot stop at the wall; lifeguards and the pool's rules decide." }
            }
        };
        Document { title: self.title, body: &body, script: None, identity: &self.identity(), decimals: self.decimals }
            .html()
    }
}

fn part(lane: &LanePart<'_>) -> Markup {
    html! {
        section {
            h2 { "Lane " (typed(lane.name)) }
            p { (printable(&lane.about)) }
            div.advice {
                h3 { "Advice" }
                @if lane.advice.is_empty() { p { "Leave it as it is." } } @else {
                    ul { @for line in &lane.advice { li { (printable(line)) } } }
                }
            }
            @for set in &lane.sets { (of_set(lane, set)) }
        }
    }
}

fn of_set(lane: &LanePart<'_>, set: &LanePartSet<'_>) -> Markup {
    let caught = |start: &&StartRun| start.swims.iter().flatten().any(|swim| swim.contact.is_some());
    let shown = set.starts.iter().position(|start| caught(&start)).unwrap_or(0);
    let place = format!("lane {}, {}", lane.name, set.title);
    html! {
        article {
            h3 { span.at { (set.go) } " " (typed(set.title)) }
            p { (typed(&set.what)) }
            div.wide tabindex="0" role="region" aria-label=(format!("Figures of {}", printable(&place))) {
                table {
                    @if let Some((head, rows)) = set.rows.split_first() {
                        thead { tr { @for name in head { th scope="col" { @if name.is_empty() { "swimmer" } @else { (name) } } } } }
                        tbody {
                            @for row in rows {
                                tr {
                                    @for (column, cell) in row.iter().enumerate() {
                                        @if column == 0 { th scope="row" { (typed(cell)) } } @else { td { (printable(cell)) } }
                                    }
                                }
                            }
                        }
                    }
                }
            }
            @for note in &set.notes { p.note { (printable(note)) } }
            @if let Some(start) = set.starts.get(shown) {
                @let next = set.starts.get(shown + 1);
                h4 { "Repeat " (shown + 1) " of " (set.starts.len()) ", as predicted" }
                (one(lane, start, next, &place))
                @if set.starts.len() > 1 {
                    details {
                        summary { "The whole set" }
                        (whole(lane, set.starts, &place))
                    }
                }
                ul.legend {
                    @for (place, name) in lane.swimmers.iter().enumerate() {
                        li class=(format!("who{}", place % KINDS)) { (place + 1) " " (typed(name)) }
                    }
                    li.phrase { "comes up to the feet in front" }
                    li.band-key { "talk reaches everybody" }
                }
            }
        }
    }
}

/// One repeat, from the leader's go to the next.
fn one(lane: &LanePart<'_>, start: &StartRun, next: Option<&StartRun>, place: &str) -> Markup {
    let last = start.last_touch() - start.at;
    let end = next.map_or(0.0, |next| next.at - start.at).max(last);
    let chart = Chart {
        x: Axis::across("seconds after the leader's go", [0.0, end].into_iter()),
        y: Axis::up(&format!("metres from the wall, {place}"), [0.0, lane.pool].into_iter()),
    };
    let marks = html! {
        @if let Some(next) = next {
            // A set's talk begins 3 s behind the last touch and leaves 8 s before the leader's go.
            @let (from, to) = (last + 3.0, next.at - start.at - 8.0);
            @if to > from {
                rect.talk x=(format!("{:.1}", chart.x.at(from))) width=(format!("{:.1}", chart.x.at(to) - chart.x.at(from)))
                    y=(chart.y.top()) height=(chart.y.foot() - chart.y.top()) {}
            }
        }
        (paths(lane, start, &chart, |time| time - start.at))
    };
    chart.svg(&format!("Where each swimmer is in one repeat, {place}"), &marks)
}

/// All repeats of a set.
fn whole(lane: &LanePart<'_>, starts: &[StartRun], place: &str) -> Markup {
    let end = starts.iter().map(StartRun::last_touch).fold(0.0, f64::max) / 60.0;
    let chart = Chart {
        x: Axis::along("minutes after the first go", [0.0, end].into_iter(), MINUTE * end),
        y: Axis::up(&format!("metres from the wall, all of {place}"), [0.0, lane.pool].into_iter()),
    };
    let marks = html! { @for start in starts { (paths(lane, start, &chart, |time| time / 60.0)) } };
    chart.svg(&format!("Where each swimmer is in all repeats, {place}"), &marks)
}

/// Everybody's way through a start, and where somebody comes up to somebody.
fn paths(lane: &LanePart<'_>, start: &StartRun, chart: &Chart, when: impl Fn(f64) -> f64) -> Markup {
    let name = |place: usize| lane.swimmers.get(place).copied().unwrap_or_default();
    html! {
        @for (place, path) in start.paths.iter().enumerate() {
            (chart.line(&format!("who{}", place % KINDS), path.iter().map(|(time, metre)| (when(*time), from_wall(*metre, lane.pool)))))
            @if let [(from, _), (to, metre), ..] = path.as_slice() {
                // On the way out, where their line is alone.
                @let (x, y) = (chart.x.at(when((from + to) / 2.0)), chart.y.at(from_wall(metre / 2.0, lane.pool)));
                text.label x=(format!("{:.1}", x + 5.0)) y=(format!("{:.1}", y + 4.0)) { (place + 1) }
            }
        }
        @for (place, swim) in start.swims.iter().enumerate() {
            @if let Some(contact) = swim.and_then(|swim| swim.contact) {
                (chart.point("contact", (when(contact.at), from_wall(contact.metre, lane.pool)),
                    &format!("{} comes up to {}, {:.0} m from the wall", isolated(name(place)), isolated(name(contact.front)), from_wall(contact.metre, lane.pool))))
            }
        }
    }
}
