//! What the notebook says of a swimmer, as charts with their tables.

use super::chart::{Axis, Chart};
use super::document::Document;
use super::typed::{DecimalMark, isolated, typed};
use crate::diag::shown::printable;
use crate::review::counts::{CountReview, TempoRow};
use crate::review::splits::SplitRow;
use crate::review::whole::Review;
use crate::review::words;
use crate::swimmer::fit::breaking::Breaking;
use maud::{Markup, html};

/// What is to be on the page.
#[derive(Clone, Copy, Debug)]
pub struct ReviewPage<'r> {
    /// What the notebook says.
    pub review: &'r Review,
    /// How its numbers are written.
    pub decimals: DecimalMark,
}

impl ReviewPage<'_> {
    /// What tells pages of this swimmer from others.
    pub fn identity(&self) -> String {
        format!("the review of {}", self.review.swimmer)
    }

    /// The file.
    pub fn html(&self) -> String {
        let review = self.review;
        let title = format!("{}, {}", review.swimmer, review.today);
        let body = html! {
            header {
                h1 { (typed(&review.swimmer)) ", " (review.today.to_string()) }
                p { (words::volume(review)) }
            }
            main {
                @for counts in &review.counts { (count_chart(counts)) }
                @if review.counts.is_empty() {
                    section {
                        h2 { "Strokes of a length" }
                        p { "No counts yet: log the strokes of a length that was swum to a beat, two tempos at first." }
                    }
                }
                (speed_chart(review))
                (focus_chart(review))
                (split_chart(&review.splits))
                (breath_chart(review))
                (load_chart(review))
            }
        };
        Document { title: &title, body: &body, script: None, identity: &self.identity(), decimals: self.decimals }
            .html()
    }
}

/// What the region of a chart is called.
fn region(of: &str) -> String {
    format!("Chart: {of}; may scroll sideways")
}

/// A table of numbers: its head, and its rows, the first cell of each naming it. What is typed comes isolated.
fn table(of: &str, head: &[&str], rows: impl Iterator<Item = Vec<String>>) -> Markup {
    html! {
        details {
            summary { "The numbers" }
            div.wide tabindex="0" role="region" aria-label=(format!("Numbers: {of}")) {
                table {
                    thead { tr { @for name in head { th scope="col" { (name) } } } }
                    tbody {
                        @for row in rows {
                            tr {
                                @for (column, cell) in row.iter().enumerate() {
                                    @if column == 0 { th scope="row" { (cell) } } @else { td { (cell) } }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn count_chart(counts: &CountReview) -> Markup {
    let rows = &counts.rows;
    let tempo = |row: &TempoRow| row.tempo.as_f64();
    let heights = rows.iter().flat_map(|row| {
        [row.now.low, row.now.high].into_iter().chain(row.then).chain(row.best.map(|(count, _)| count))
    });
    let chart = Chart {
        x: Axis::across("tempo, seconds a stroke: quicker to the left", rows.iter().map(tempo)),
        y: Axis::up(&format!("strokes a length of {}", counts.pool), heights),
    };
    let band: Vec<(f64, [f64; 2])> = rows.iter().map(|row| (tempo(row), [row.now.low, row.now.high])).collect();
    let marks = html! {
        (chart.band(&band))
        @if let Some(Breaking::At { low, high, .. }) = counts.breaking {
            @let (from, to) = (chart.x.at(low), chart.x.at(high));
            rect.breaking x=(format!("{from:.1}")) width=(format!("{:.1}", (to - from).max(1.0))) y=(chart.y.top()) height=(chart.y.foot() - chart.y.top()) {
                title { (format!("the count leaves its line between {low:.2} and {high:.2} s")) }
            }
        }
        (chart.line("then", rows.iter().filter_map(|row| Some((tempo(row), row.then?)))))
        (chart.line("model", rows.iter().map(|row| (tempo(row), row.now.count))))
        @for row in rows {
            (chart.point("now", (tempo(row), row.now.count), &format!("{}: {:.1} strokes ({:.0} to {:.0}), {}",
                words::seconds(row.tempo), row.now.count, row.now.low, row.now.high, words::many(row.counts, "count"))))
        }
    };
    let says = format!("Strokes a length at each tempo, {} pool. {}", counts.pool, words::change(counts));
    html! {
        section {
            h2 { "Strokes of a length, " (counts.pool.to_string()) " pool" }
            p { (words::change(counts)) }
            (chart.svg(&says, &marks))
            ul.legend {
                li.swim { "expected now" } li.band-key { "holds eight of ten lengths" }
                @if rows.iter().any(|row| row.then.is_some()) { li.faint-key { "four weeks ago" } }
                @if matches!(counts.breaking, Some(Breaking::At { .. })) { li.phrase { "where the count leaves its line" } }
            }
            @if let Some(quickest) = words::quickest(counts) { p { (quickest) } }
            @if let Some(breaking) = words::breaking(counts) { p { (breaking) } }
            (table(&format!("counts, {} pool", counts.pool), &["tempo", "now", "8 of 10", "four weeks ago", "best", "counts"], rows.iter().map(|row| vec![
                words::seconds(row.tempo),
                format!("{:.1}", row.now.count),
                format!("{:.0}-{:.0}", row.now.low, row.now.high),
                row.then.map(|then| format!("{then:.1}")).unwrap_or_default(),
                row.best.map(|(count, day)| format!("{count:.0} on {day}")).unwrap_or_default(),
                row.counts.to_string(),
            ])))
        }
    }
}

fn speed_chart(review: &Review) -> Markup {
    let rate = |tempo: f64| 60.0 / tempo;
    let rows = &review.speeds;
    let chart = Chart {
        x: Axis::across("strokes a minute", rows.iter().map(|row| rate(row.tempo))),
        y: Axis::up("metres a second", rows.iter().map(|row| row.speed)),
    };
    let marks = html! {
        @for row in rows {
            (chart.point("now", (rate(row.tempo), row.speed), &format!("{}: {:.1} /min, {:.2} m/s, {:.2} m a stroke", row.day, rate(row.tempo), row.speed, row.per_stroke)))
        }
    };
    html! {
        section {
            h2 { "Speed against stroke rate" }
            @if rows.is_empty() { p { "No length yet with both a count and a time." } } @else {
                (chart.svg("Speed of single lengths against their stroke rate", &marks))
                (table("speed", &["day", "tempo", "strokes a minute", "m/s", "m a stroke", "stroke index"], rows.iter().map(|row| vec![
                    row.day.to_string(),
                    format!("{:.2} s", row.tempo),
                    format!("{:.1}", rate(row.tempo)),
                    format!("{:.2}", row.speed),
                    format!("{:.2}", row.per_stroke),
                    format!("{:.2}", row.index()),
                ])))
            }
            p { (words::critical(review)) }
        }
    }
}

/// The height of a phrase's row of bars, in pixels, and what lies between two.
const FOCUS_ROW: [f64; 2] = [36.0, 20.0];

fn focus_chart(review: &Review) -> Markup {
    let weeks = review.weeks.len().max(1);
    let most = review.focus.iter().flat_map(|row| &row.weeks).copied().max().unwrap_or(0).max(1) as f64;
    let [bar, gap] = FOCUS_ROW;
    let height = review.focus.len() as f64 * (bar + gap) + 24.0;
    let wide = 600.0 / weeks as f64;
    let ago = |days: i32| match days {
        0 => "today".to_owned(),
        1 => "yesterday".to_owned(),
        days => format!("{days} days ago"),
    };
    html! {
        section {
            h2 { "Strokes for each focus, by week" }
            @if review.focus.is_empty() { p { "No focus in the notebook yet." } } @else {
                div.chart tabindex="0" role="region" aria-label=(region("focus")) {
                    svg viewBox=(format!("0 0 640 {height}")) role="img" aria-label="Counted strokes for each focus in each week, all to one scale" {
                        @for (index, row) in review.focus.iter().enumerate() {
                            @let foot = (index + 1) as f64 * (bar + gap);
                            text.label x="20" y=(format!("{:.1}", foot - bar - 4.0)) { (isolated(&row.phrase)) }
                            path.rule d=(format!("M20 {foot}H620")) {}
                            @for (week, strokes) in row.weeks.iter().enumerate() {
                                @let tall = bar * *strokes as f64 / most;
                                @let monday = review.weeks.get(week).map(|(week, _)| week.monday.to_string()).unwrap_or_default();
                                rect.now x=(format!("{:.1}", 20.0 + week as f64 * wide + 2.0)) width=(format!("{:.1}", wide - 4.0))
                                    y=(format!("{:.1}", foot - tall)) height=(format!("{tall:.1}")) data-phrase=(printable(&row.phrase)) data-y=(strokes) {
                                    title { (isolated(&row.phrase)) ", week of " (monday) ": " (strokes) " strokes" }
                                }
                            }
                        }
                        text.tick x="20" y=(format!("{:.1}", height - 6.0)) { (review.weeks.first().map(|(week, _)| format!("week of {}", week.monday)).unwrap_or_default()) }
                        text.tick.y x="620" y=(format!("{:.1}", height - 6.0)) { "this week" }
                    }
                }
                (table("focus", &["focus", "strokes", "practices", "last", "left alone"], review.focus.iter().map(|row| vec![
                    isolated(&row.phrase),
                    row.weeks.iter().sum::<u64>().to_string(),
                    row.practices.to_string(),
                    ago(row.days),
                    if row.is_untouched() { "untouched".to_owned() } else { String::new() },
                ])))
            }
        }
    }
}

fn split_chart(rows: &[SplitRow]) -> Markup {
    let off = |row: &SplitRow| 100.0 * (row.swum / row.planned - 1.0);
    let chart = Chart {
        x: Axis::listed("timed sets by their days", rows.iter().map(|row| row.day.to_string()).collect()),
        y: Axis::up("% slower than planned; below 0 quicker", rows.iter().map(off).chain([0.0])),
    };
    let marks = html! {
        (chart.line("zero", [(0.0, 0.0), (rows.len() as f64, 0.0)].into_iter()))
        @for (index, row) in rows.iter().enumerate() {
            (chart.point("now", (index as f64 + 0.5, off(row)), &format!("{}, {}: {} planned, {} swum", row.day, isolated(&row.set), words::time(row.planned), words::time(row.swum))))
        }
    };
    html! {
        section {
            h2 { "Times against the plan" }
            @if rows.is_empty() { p { "No times yet: log one, or key the touches while it plays." } } @else {
                (chart.svg("How much slower or quicker than planned each timed set was swum", &marks))
                (table("times", &["day", "set", "timed", "planned", "swum", "second half", "the stroke"], rows.iter().rev().map(|row| vec![
                    row.day.to_string(),
                    isolated(&row.set),
                    row.timed.to_string(),
                    words::time(row.planned),
                    words::time(row.swum),
                    row.faded.map(|faded| format!("{:+.1} %", faded * 100.0)).unwrap_or_default(),
                    match (row.apart, row.held) {
                        (Some(repeat), _) => format!("fell apart from repeat {repeat}"),
                        (None, Some(true)) => "held".to_owned(),
                        (None, _) => String::new(),
                    },
                ])))
            }
        }
    }
}

fn breath_chart(review: &Review) -> Markup {
    let Some(left) = review.breaths.share_left() else {
        return html! { section { h2 { "Breaths" } p { "No pattern in four weeks." } } };
    };
    let wide = 600.0 * left;
    let share = |of: f64| format!("{:.0} %", libm::round(100.0 * of));
    html! {
        section {
            h2 { "Breaths of four weeks" }
            div.chart tabindex="0" role="region" aria-label=(region("breaths")) {
                svg viewBox="0 0 640 60" role="img" aria-label=(format!("{} of the breaths to the left, {} to the right", share(left), share(1.0 - left))) {
                    rect.now x="20" y="24" width=(format!("{wide:.1}")) height="24" data-y=(review.breaths.left) { title { (review.breaths.left) " left" } }
                    rect.other-side x=(format!("{:.1}", 20.0 + wide)) y="24" width=(format!("{:.1}", 600.0 - wide)) height="24" data-y=(review.breaths.right) { title { (review.breaths.right) " right" } }
                    path.half d="M320 20v32" {}
                    text.label x="20" y="16" { "left " (share(left)) }
                    text.label.x x="620" y="16" { "right " (share(1.0 - left)) }
                }
            }
            p { (review.breaths.left) " left, " (review.breaths.right) " right." }
            @if let Some(sides) = &review.sides { p { "Count: " (words::compared(sides, "breathing left", "breathing right")) "." } }
        }
    }
}

fn load_chart(review: &Review) -> Markup {
    let weeks = &review.weeks;
    let chart = Chart {
        x: Axis::listed("weeks by their Mondays", weeks.iter().map(|(week, _)| week.monday.to_string()).collect()),
        y: Axis::up("effort × minutes", weeks.iter().map(|(_, load)| load.total).chain([0.0])),
    };
    let marks = html! {
        @for (index, (week, load)) in weeks.iter().enumerate() {
            (chart.bar("now", (index as f64 + 0.5, load.total), 0.8, &format!("week of {}: {:.0}, {}, {:.1} km", week.monday, load.total, words::many(week.practices, "practice"), week.metres / 1000.0)))
        }
    };
    html! {
        section {
            h2 { "Load by week" }
            (chart.svg("Effort times minutes of each week", &marks))
            (table("load", &["week of", "practices", "km", "minutes", "load", "monotony"], weeks.iter().map(|(week, load)| vec![
                week.monday.to_string(),
                week.practices.to_string(),
                format!("{:.1}", week.metres / 1000.0),
                format!("{:.0}", week.minutes),
                format!("{:.0}", load.total),
                load.monotony.map(|monotony| format!("{monotony:.1}")).unwrap_or_default(),
            ])))
            p.note { "Load is session RPE × minutes (Foster 2001). That it foretells injury is weakly supported: how you feel goes first." }
        }
    }
}
