//! Charts for a page: a frame with axes that say what they count and where they begin, and marks in it.
//!
//! Marks carry their values as attributes, and as a title that shows under the pointer; the tables beside a chart hold the same.

use maud::{Markup, html};
use std::fmt::Write;

/// A chart's size, in pixels of its own.
const SIZE: [f64; 2] = [640.0, 320.0];
/// The room for the axes: left, right, top, bottom.
const ROOM: [f64; 4] = [52.0, 14.0, 34.0, 46.0];
/// About so many marks on an axis.
const TICKS: f64 = 6.0;

/// One axis: its values, and where they lie.
#[derive(Clone, Debug, PartialEq)]
pub struct Axis {
    /// What it counts, and in what.
    label: String,
    from: f64,
    step: f64,
    steps: u32,
    /// Where its ends lie.
    ends: [f64; 2],
    /// What its places are called, where they are no numbers: the first lies around 0.5.
    names: Vec<String>,
}

impl Axis {
    /// Along the bottom, over all values, in round steps.
    pub fn across(label: &str, values: impl Iterator<Item = f64>) -> Self {
        Self::over(label, values, [ROOM[0], SIZE[0] - ROOM[1]])
    }

    /// Along the bottom of a drawing so many pixels wide, at least the usual width.
    pub fn along(label: &str, values: impl Iterator<Item = f64>, width: f64) -> Self {
        Self::over(label, values, [ROOM[0], width.max(SIZE[0]) - ROOM[1]])
    }

    /// Along the bottom, a place for each name.
    pub fn listed(label: &str, names: Vec<String>) -> Self {
        let ends = [ROOM[0], SIZE[0] - ROOM[1]];
        let steps = u32::try_from(names.len()).unwrap_or(u32::MAX).max(1);
        Self { label: label.to_owned(), from: 0.0, step: 1.0, steps, ends, names }
    }

    /// Up the left side.
    pub fn up(label: &str, values: impl Iterator<Item = f64>) -> Self {
        Self::over(label, values, [SIZE[1] - ROOM[3], ROOM[2]])
    }

    /// From the least value to the greatest, both rounded outwards to steps of 1, 2 or 5 of their power of ten.
    fn over(label: &str, values: impl Iterator<Item = f64>, ends: [f64; 2]) -> Self {
        let (least, most) = values.fold((f64::MAX, f64::MIN), |(low, high), value| (low.min(value), high.max(value)));
        let (least, most) = if least > most { (0.0, 1.0) } else { (least, most) };
        // One value alone stands in the middle of something.
        let (least, most) = if most - least < 1e-9 { (least - 0.5, most + 0.5) } else { (least, most) };
        let rough = (most - least) / TICKS;
        let power = libm::pow(10.0, libm::floor(libm::log10(rough)));
        let step = [1.0, 2.0, 5.0, 10.0].into_iter().map(|of| of * power).find(|step| *step >= rough * 0.999);
        let step = step.unwrap_or(10.0 * power);
        let from = step * libm::floor(least / step + 1e-9);
        let steps = libm::ceil((most - from) / step - 1e-9).max(1.0) as u32;
        Self { label: label.to_owned(), from, step, steps, ends, names: Vec::new() }
    }

    /// Where a value lies, in pixels.
    pub fn at(&self, value: f64) -> f64 {
        let [low, high] = self.ends;
        low + (high - low) * (value - self.from) / (self.step * f64::from(self.steps))
    }

    /// Where its greatest value lies, of an axis up the side.
    pub fn top(&self) -> f64 {
        self.ends[1]
    }

    /// Where it begins, of an axis up the side.
    pub fn foot(&self) -> f64 {
        self.ends[0]
    }

    /// The value it begins with.
    pub fn base(&self) -> f64 {
        self.from
    }

    fn ticks(&self) -> Vec<(f64, String)> {
        if !self.names.is_empty() {
            // As many names as have room.
            let every = self.names.len().div_ceil(6);
            let names = self.names.iter().enumerate().step_by(every);
            return names.map(|(place, name)| (self.at(place as f64 + 0.5), name.clone())).collect();
        }
        let decimals = libm::ceil(-libm::log10(self.step) - 1e-9).max(0.0) as usize;
        let tick = |k| {
            let value = self.from + self.step * f64::from(k);
            (self.at(value), format!("{value:.decimals$}"))
        };
        (0..=self.steps).map(tick).collect()
    }
}

/// Two axes.
#[derive(Clone, Debug, PartialEq)]
pub struct Chart {
    /// Along the bottom.
    pub x: Axis,
    /// Up the left side.
    pub y: Axis,
}

impl Chart {
    /// The drawing, which shows `says` in words, with what is in it.
    pub fn svg(&self, says: &str, marks: &Markup) -> Markup {
        let [left, right, top, bottom] = [ROOM[0], self.x.ends[1], ROOM[2], SIZE[1] - ROOM[3]];
        let width = right + ROOM[1];
        // What is wider than a screen keeps its size and scrolls.
        let (fixed, kind) = if width > SIZE[0] { (Some(format!("{width:.0}")), "long") } else { (None, "fits") };
        html! {
            div.chart tabindex="0" role="region" aria-label=(format!("Chart: {}; may scroll sideways", self.y.label)) {
                svg.(kind) viewBox=(format!("0 0 {width:.0} {}", SIZE[1])) width=[fixed] role="img" aria-label=(says) {
                    @for (y, text) in self.y.ticks() {
                        path.rule d=(format!("M{left} {y:.1}H{right}")) {}
                        text.tick.y x=(left - 8.0) y=(format!("{:.1}", y + 4.0)) { (text) }
                    }
                    @for (x, text) in self.x.ticks() {
                        path.rule d=(format!("M{x:.1} {bottom}v5")) {}
                        text.tick.x x=(format!("{x:.1}")) y=(bottom + 20.0) { (text) }
                    }
                    path.axis d=(format!("M{left} {top}V{bottom}H{right}")) {}
                    text.label.x x=(right) y=(SIZE[1] - 8.0) { (self.x.label) }
                    text.label x="4" y="14" { (self.y.label) }
                    (marks)
                }
            }
        }
    }

    /// A line through points in their order.
    pub fn line(&self, class: &str, points: impl Iterator<Item = (f64, f64)>) -> Markup {
        html! { path.(class) d=(self.path(points)) {} }
    }

    /// What lies between two values at each place.
    pub fn band(&self, places: &[(f64, [f64; 2])]) -> Markup {
        let there = places.iter().map(|(x, [low, _])| (*x, *low));
        let back = places.iter().rev().map(|(x, [_, high])| (*x, *high));
        html! { path.band d=(self.path(there.chain(back)) + "Z") {} }
    }

    /// A point with its values; `title` shows under the pointer.
    pub fn point(&self, class: &str, (x, y): (f64, f64), title: &str) -> Markup {
        let (left, top) = (format!("{:.1}", self.x.at(x)), format!("{:.1}", self.y.at(y)));
        html! {
            circle.(class) cx=(left) cy=(top) r="5" data-x=(x) data-y=(y) { title { (title) } }
        }
    }

    /// A bar from the base of the axis, around a place on the other.
    pub fn bar(&self, class: &str, (x, y): (f64, f64), wide: f64, title: &str) -> Markup {
        let (from, to) = (self.x.at(x - wide / 2.0), self.x.at(x + wide / 2.0));
        let (top, foot) = (self.y.at(y), self.y.at(self.y.base()));
        html! {
            rect.(class) x=(format!("{from:.1}")) width=(format!("{:.1}", to - from)) y=(format!("{top:.1}"))
                height=(format!("{:.1}", foot - top)) data-x=(x) data-y=(y) { title { (title) } }
        }
    }

    fn path(&self, points: impl Iterator<Item = (f64, f64)>) -> String {
        let mut path = String::new();
        for (x, y) in points {
            let command = if path.is_empty() { 'M' } else { 'L' };
            // Writing to a String cannot fail.
            let _ = write!(path, "{command}{:.1} {:.1}", self.x.at(x), self.y.at(y));
        }
        path
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ticks(values: &[f64]) -> Vec<String> {
        Axis::across("", values.iter().copied()).ticks().into_iter().map(|(_, text)| text).collect()
    }

    #[test]
    fn an_axis_begins_and_ends_at_round_values() {
        assert_eq!(ticks(&[0.0, 5.9]), ["0", "1", "2", "3", "4", "5", "6"]);
        assert_eq!(ticks(&[0.93, 1.41]), ["0.9", "1.0", "1.1", "1.2", "1.3", "1.4", "1.5"]);
        assert_eq!(ticks(&[-3.0, 4.0]), ["-4", "-2", "0", "2", "4"]);
        assert_eq!(ticks(&[7.0]), ["6.4", "6.6", "6.8", "7.0", "7.2", "7.4", "7.6"]);
        assert_eq!(ticks(&[]), ["0.0", "0.2", "0.4", "0.6", "0.8", "1.0"]);
    }

    #[test]
    fn values_lie_where_the_axis_says() {
        let axis = Axis::up("", [0.0, 10.0].into_iter());
        assert!((axis.at(0.0) - (SIZE[1] - ROOM[3])).abs() < 1e-9 && (axis.at(10.0) - ROOM[2]).abs() < 1e-9);
        assert!((axis.at(5.0) - (axis.at(0.0) + axis.at(10.0)) / 2.0).abs() < 1e-9);
    }
}
