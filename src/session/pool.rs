//! The clock of the pool: how far a practice is behind the time that has really gone by since it began. It is told frames
//! and moments; what is done about it is `live`'s job.
//!
//! A device takes frames in blocks, so that only the least of several readings tells where it is: it is the one that came
//! right behind a block. Between the clock and a device lies what the device has stored, the same all the time: that is how
//! far it is behind when all is well. That the clock of a device runs a little slow comes in here like everything else that is
//! slow; likewise one that runs fast is ahead.

use crate::units::time::Seconds;
use std::collections::VecDeque;

/// Readings are compared over so long.
const WINDOW: Seconds = Seconds::from_millis(500);
/// What is less than this, and than a block and a half, must last so long: on a busy machine some blocks in a row may come
/// late, and none be lost.
const CLEAR: Seconds = Seconds::from_millis(100);
const LONG: Seconds = Seconds::from_secs(5);
/// So long after a practice has begun its device fills what it stores.
const SETTLING: Seconds = Seconds::from_secs(1);
/// A device that is ahead by so much does not go by time: one that writes a file.
const AHEAD: Seconds = Seconds::from_secs(1);
/// Ahead is only what stays so, within so much, for so long.
const STEADY: (Seconds, Seconds) = (Seconds::from_millis(20), Seconds::from_secs(1));

/// What is known of a practice on the clock of the pool.
#[derive(Debug)]
pub(super) struct PoolClock {
    window: Seconds,
    /// How long a block is.
    block: Seconds,
    /// Before the first reading that counts.
    settling: Seconds,
    /// Moments at which the practice had moved, with how far it was behind them, the newest at the end.
    readings: VecDeque<(Seconds, Seconds)>,
    seen: Option<Seconds>,
    /// When the first reading of this stretch was.
    begun: Option<Seconds>,
    /// How far it is behind the moment when it is on time; none until it has settled.
    usual: Option<Seconds>,
    behind: Seconds,
    /// Since when it has been where it is, and where that is.
    steady: (Seconds, Seconds),
}

impl PoolClock {
    /// For a device that takes blocks of such a length.
    pub(super) fn new(block: Seconds) -> Self {
        let (readings, behind) = (VecDeque::new(), Seconds::ZERO);
        Self {
            window: window(block),
            block,
            settling: SETTLING,
            readings,
            seen: None,
            begun: None,
            usual: None,
            behind,
            steady: (Seconds::ZERO, Seconds::ZERO),
        }
    }

    /// By how much the practice is behind; negative where it is ahead.
    pub(super) fn behind(&self) -> Seconds {
        self.behind
    }

    /// Takes a reading: where the practice is at a moment.
    pub(super) fn read(&mut self, now: Seconds, practice: Seconds) {
        if self.seen.replace(practice) == Some(practice) {
            return;
        }
        // What lies behind a standstill is not known from what lay before it.
        if self.readings.back().is_some_and(|(at, _)| now - *at > self.window.scaled(1, 2)) {
            self.begun = None;
            self.readings.clear();
        }
        let begun = *self.begun.get_or_insert(now);
        self.readings.push_back((now, now - practice));
        let long = LONG.max(self.block.scaled(12, 1));
        while self.readings.front().is_some_and(|(at, _)| now - *at > long) {
            self.readings.pop_front();
        }
        if now - begun < self.settling + self.window {
            return;
        }
        self.settling = Seconds::ZERO;
        let least = |over: Seconds| {
            let readings = self.readings.iter().rev().take_while(|(at, _)| now - *at <= over);
            readings.map(|(_, lag)| *lag).min().unwrap_or(now - practice)
        };
        let (soon, lag) = (least(self.window), least(long));
        let usual = *self.usual.get_or_insert(lag - self.behind);
        if usual - lag > AHEAD {
            self.usual = Some(lag);
        }
        let clear = soon - usual >= CLEAR.max(self.block.scaled(3, 2));
        let behind = if clear { soon - usual } else { lag - usual };
        if !clear && now - begun < long {
            return;
        }
        let off = behind - self.steady.1;
        if off > STEADY.0 || off < Seconds::ZERO - STEADY.0 {
            self.steady = (now, behind);
        }
        if behind >= Seconds::ZERO || now - self.steady.0 >= STEADY.1 {
            self.behind = behind;
        }
    }

    /// So much has been left out, or has come again: what was read before does not count.
    pub(super) fn shifted(&mut self, by: Seconds) {
        self.behind = self.behind - by;
        self.forget();
    }

    /// Another device takes over, which fills what it stores.
    pub(super) fn has_device(&mut self, block: Seconds) {
        (self.window, self.block, self.settling) = (window(block), block, SETTLING);
        self.forget();
    }

    /// The practice stands still by command, and so does its clock: it is behind afterwards by what it was before.
    pub(super) fn stand(&mut self) {
        (self.usual, self.settling) = (None, Seconds::ZERO);
        self.forget();
    }

    fn forget(&mut self) {
        self.readings.clear();
        (self.begun, self.seen) = (None, None);
    }

    /// Where the practice should be at a moment, as far as that is known.
    pub(super) fn due(&self, now: Seconds) -> Option<Seconds> {
        self.usual.map(|usual| now - usual)
    }
}

fn window(block: Seconds) -> Seconds {
    WINDOW.max(block.scaled(5, 2))
}

#[cfg(test)]
mod tests {
    use super::*;

    const TICK: i64 = 10;

    /// A device of blocks of 46 ms that starts two of them ahead, looked at every 10 ms; `runs` tells from the moment how
    /// far its own time has come. How far it is found to be behind at each whole second.
    fn seen(seconds: i64, runs: impl Fn(f64) -> f64) -> Vec<f64> {
        let block = 2_048.0 / 44_100.0;
        let mut clock = PoolClock::new(Seconds::from_estimate(block));
        let mut seen = Vec::new();
        for millis in (0..seconds * 1000).step_by(TICK as usize) {
            // The scheduler is late by up to 9 ms, without a pattern.
            let now = millis as f64 / 1000.0 + (millis * 618_034 % 9_000_000) as f64 / 1e9;
            let frames = ((runs(now) / block).floor() + 2.0) * block;
            clock.read(Seconds::from_nanos((now * 1e9) as i64), Seconds::from_nanos((frames * 1e9) as i64));
            if millis % 1000 == 0 {
                seen.push(clock.behind().as_f64());
            }
        }
        seen
    }

    fn near(seen: f64, expected: f64) -> bool {
        (seen - expected).abs() < 0.02
    }

    #[test]
    fn a_device_on_time_is_on_time() {
        assert!(seen(600, |now| now).iter().all(|behind| near(*behind, 0.0)));
        // So is one whose blocks came late for a while, as long as what it stores lasted.
        let busy = |now: f64| if (20.0..22.5).contains(&now) { now - 0.06 } else { now };
        assert!(seen(40, busy).iter().all(|behind| near(*behind, 0.0)));
    }

    #[test]
    fn every_stall_is_seen_within_a_second_and_none_is_forgotten() {
        // Stopped for 0.7 s at 10, 20, 30, 40 and 50 s.
        let stalled = |now: f64| {
            let over = (now / 10.0).floor().min(5.0);
            let inside = if over >= 1.0 && now < over * 10.0 + 0.7 { now - over * 10.0 } else { 0.7 };
            now - if over >= 1.0 { (over - 1.0) * 0.7 + inside } else { 0.0 }
        };
        let seen = seen(70, stalled);
        for (second, behind) in seen.iter().enumerate().filter(|(second, _)| second % 10 >= 2) {
            let stalls = (second / 10).min(5) as f64;
            assert!(near(*behind, 0.7 * stalls), "{behind} at {second} s");
        }
    }

    #[test]
    fn a_slow_crystal_adds_up_and_a_fast_one() {
        let fast = seen(600, |now| now * 1.0016);
        assert!(fast.iter().enumerate().all(|(second, ahead)| second < 3 || near(*ahead, -0.0016 * second as f64)));
        // 100 parts in a million, what sound cards are sold with (common practice, no source): 0.36 s in an hour.
        let seen = seen(3_600, |now| now * 0.9999);
        assert!(near(*seen.last().unwrap(), 0.36), "{:?}", seen.last());
    }

    #[test]
    fn one_that_writes_a_file_is_never_behind() {
        // Neither is it ahead: that would be made good.
        for speed in [40.0, 1.5] {
            assert!(seen(30, |now| now * speed).iter().all(|behind| near(*behind, 0.0)), "{speed}");
        }
    }

    #[test]
    fn what_is_made_good_or_stands_still_is_no_more_or_less_behind() {
        let mut clock = PoolClock::new(Seconds::from_millis(10));
        let feed = |clock: &mut PoolClock, from: i64, to: i64, by: i64| {
            for millis in (from..to).step_by(10) {
                clock.read(Seconds::from_millis(millis), Seconds::from_millis(millis - by));
            }
            clock.behind()
        };
        assert_eq!(feed(&mut clock, 0, 3_000, 0), Seconds::ZERO);
        assert_eq!(feed(&mut clock, 3_000, 5_000, 300), Seconds::from_millis(300));
        // A pause of a minute: as far behind as before.
        clock.stand();
        assert_eq!(clock.due(Seconds::from_secs(6)), None);
        assert_eq!(feed(&mut clock, 65_000, 67_000, 60_300), Seconds::from_millis(300));
        clock.shifted(Seconds::from_millis(300));
        assert_eq!(feed(&mut clock, 67_000, 69_000, 60_000), Seconds::ZERO);
        assert_eq!(clock.due(Seconds::from_secs(70)), Some(Seconds::from_secs(10)));
    }
}
