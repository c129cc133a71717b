//! Speed against stroke rate: lengths of which both the count and the time are known.

use crate::notebook::evidence::NotedCount;
use crate::swimmer::fit::counts::CountedAt;
use crate::units::calendar::Day;

/// One length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpeedRow {
    /// The day.
    pub day: Day,
    /// Seconds per stroke.
    pub tempo: f64,
    /// Metres a second over the whole length, its push-off too.
    pub speed: f64,
    /// Metres for each stroke that was counted.
    pub per_stroke: f64,
}

impl SpeedRow {
    /// Stroke index: speed × distance per stroke (Costill 1985, from memory).
    pub fn index(&self) -> f64 {
        self.speed * self.per_stroke
    }
}

/// The lengths with a tempo, a time and a count, the slowest tempo first.
pub fn speeds(noted: &[NotedCount]) -> Vec<SpeedRow> {
    let row = |noted: &NotedCount| {
        let CountedAt::Both(tempo, time) = noted.count.at() else { return None };
        let metres = noted.count.pool().metres();
        let (speed, per_stroke) = (metres / time.as_f64(), metres / noted.count.count());
        Some(SpeedRow { day: noted.day, tempo: tempo.as_f64(), speed, per_stroke })
    };
    let mut rows: Vec<SpeedRow> = noted.iter().filter_map(row).collect();
    rows.sort_by(|a, b| b.tempo.total_cmp(&a.tempo).then_with(|| a.day.cmp(&b.day)));
    rows
}
