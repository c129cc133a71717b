//! Lanes as a distance-time picture for a screen or a page: a row for each lane, a panel for each set with one of its starts.
//!
//! Swimmers are told apart by number and by lightness, so that a print in grey serves as well.

use crate::cli::lane::report::{LaneReport, LanesReport};
use crate::lane::run::{StartRun, from_wall};
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};
use std::error::Error;

/// A panel, in pixels.
const PANEL: (u32, u32) = (420, 230);
/// The picture's heading.
const HEADING: u32 = 34;
/// From dark to light, as far as white paper bears.
const COLOURS: [RGBColor; 8] = [
    RGBColor(15, 15, 35),
    RGBColor(120, 10, 20),
    RGBColor(25, 75, 160),
    RGBColor(10, 140, 90),
    RGBColor(210, 90, 30),
    RGBColor(170, 125, 215),
    RGBColor(140, 195, 90),
    RGBColor(205, 190, 120),
];
const CAUGHT: RGBColor = RGBColor(200, 0, 0);
const TALK: RGBColor = RGBColor(225, 235, 245);

/// The picture as SVG.
pub(super) fn svg(report: &LanesReport<'_>) -> Result<String, Box<dyn Error>> {
    let columns = report.lanes.iter().map(|lane| lane.outcomes.len()).max().unwrap_or(0).max(1);
    let (columns, rows) = (u32::try_from(columns)?, u32::try_from(report.lanes.len().max(1))?);
    let mut text = String::new();
    {
        let root =
            SVGBackend::with_string(&mut text, (PANEL.0 * columns, HEADING + PANEL.1 * rows)).into_drawing_area();
        root.fill(&WHITE)?;
        let (head, body) = root.split_vertically(HEADING);
        let title = format!(
            "{}: one start of each set, time to the right, the far wall above; a ring is where somebody comes up to the feet in front",
            report.title
        );
        head.draw(&Text::new(title, (10, 10), ("sans-serif", 15).into_font()))?;
        let panels = body.split_evenly((rows as usize, columns as usize));
        for (row, lane) in report.lanes.iter().enumerate() {
            for set in 0..lane.outcomes.len() {
                if let Some(panel) = panels.get(row * columns as usize + set) {
                    draw(panel, lane, set)?;
                }
            }
        }
        root.present()?;
    }
    Ok(text)
}

/// The start that shows something: the first with a contact, else the first.
fn shown(starts: &[StartRun]) -> Option<(usize, &StartRun)> {
    let caught = |start: &StartRun| start.swims.iter().flatten().any(|swim| swim.contact.is_some());
    let at = starts.iter().position(caught).unwrap_or(0);
    Some((at, starts.get(at)?))
}

fn draw<B: DrawingBackend>(
    panel: &DrawingArea<B, plotters::coord::Shift>,
    report: &LaneReport<'_>,
    set: usize,
) -> Result<(), Box<dyn Error>>
where
    B::ErrorType: 'static,
{
    let lane = report.lane;
    let (Some(plan), Some(outcome)) = (lane.sets.get(set), report.outcomes.get(set)) else { return Ok(()) };
    let Some((index, start)) = shown(&outcome.predicted) else { return Ok(()) };
    let pool = lane.pool.metres();
    let next = outcome.predicted.get(index + 1).map(|next| next.at - start.at);
    let last = start.last_touch() - start.at;
    let end = next.unwrap_or(0.0).max(last) * 1.02;
    let repeat = if plan.starts.len() > 1 { format!(", repeat {}", index + 1) } else { String::new() };
    let caption = format!("Lane {}: {}{repeat}", lane.name, plan.title);
    let mut chart = ChartBuilder::on(panel)
        .caption(caption, ("sans-serif", 14))
        .margin(8)
        .x_label_area_size(22)
        .y_label_area_size(34)
        .build_cartesian_2d(0.0..end, 0.0..pool)?;
    chart
        .configure_mesh()
        .light_line_style(TRANSPARENT)
        .bold_line_style(BLACK.mix(0.12))
        .x_labels(6)
        .y_labels(3)
        .label_style(("sans-serif", 11))
        .x_label_formatter(&|time| format!("{time:.0} s"))
        .y_label_formatter(&|metre| format!("{metre:.0} m"))
        .draw()?;
    if let Some(next) = next {
        // The time in which talk reaches everybody, and the leader's next go.
        let (from, to) = (last + 3.0, next - 8.0);
        if to > from {
            chart.draw_series([Rectangle::new([(from, 0.0), (to, pool)], TALK.filled())])?;
        }
        chart.draw_series([PathElement::new([(next, 0.0), (next, pool)], BLACK.stroke_width(1))])?;
    }
    for (place, path) in start.paths.iter().enumerate() {
        // As far apart as so many can be.
        let colour = COLOURS.get(place * COLOURS.len() / start.paths.len().max(1)).copied().unwrap_or(BLACK);
        let points = unfolded(path, pool, start.at);
        let Some(first) = points.first().copied() else { continue };
        chart.draw_series(LineSeries::new(points.iter().copied(), colour.stroke_width(2)))?;
        let style = ("sans-serif", 12).into_font().color(&colour).pos(Pos::new(HPos::Right, VPos::Bottom));
        chart.draw_series([Text::new(format!("{}", place + 1), (first.0 + end * 0.012, pool * 0.12), style)])?;
    }
    for contact in start.swims.iter().flatten().filter_map(|swim| swim.contact) {
        let at = (contact.at - start.at, from_wall(contact.metre, pool));
        chart.draw_series([Circle::new(at, 6, CAUGHT.stroke_width(2))])?;
    }
    Ok(())
}

/// A path with a point at every wall, folded into the pool; times from the leader's go.
fn unfolded(path: &[(f64, f64)], pool: f64, go: f64) -> Vec<(f64, f64)> {
    path.iter().map(|(time, metre)| (time - go, from_wall(*metre, pool))).collect()
}
