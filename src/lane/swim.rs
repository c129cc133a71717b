//! One start of a lane, under way: when each touches, who comes up to whom, and where. Exact from one event to the next (a push-off,
//! a wall, a contact, a touch); no step of time.
//!
//! Each swims every length evenly. Nobody passes: who comes within [`CONTACT`] of the feet in front stays so far behind until the
//! one in front is quicker or has touched. The lane is a circle of two lengths, so the first may come up to the last.

/// From head to head, in metres, the least that keeps the hands off the feet in front: a body of 1.8 m and 0.7 m of the arm behind.
/// Our choice, no source.
pub const CONTACT: f64 = 2.5;
/// Distances and times nearer than this are equal.
const NEAR: f64 = 1e-9;
/// Feet are clear within so many metres of [`CONTACT`]: what many events add up to.
const CLEAR: f64 = 1e-6;

/// Somebody who is about to leave.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leaving<'l> {
    /// When, in seconds.
    pub at: f64,
    /// Seconds of each length; at least one.
    pub lengths: &'l [f64],
    /// What each of these is multiplied by: this swimmer on this day.
    pub factor: f64,
}

/// Somebody who has swum.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct SwimTimes {
    /// When they pushed off: as planned, or when the feet in front were clear.
    pub left: f64,
    /// When they touched.
    pub touch: f64,
    /// When they first came up to somebody, if they did.
    pub contact: Option<Contact>,
}

/// Somebody comes up to the one in front.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Contact {
    /// Who is in front, by the place among those who left.
    pub front: usize,
    /// When.
    pub at: f64,
    /// How far the one behind has swum, in metres.
    pub metre: f64,
}

/// Where somebody is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Whereabouts {
    Waiting,
    Swimming,
    Done,
}

/// What is needed for one start and used again for the next.
#[derive(Clone, Debug, Default)]
pub struct LaneWater {
    /// What came of each, in the order given.
    pub swum: Vec<SwimTimes>,
    /// Every turn at the wall that all leave from: when, and who.
    pub turns: Vec<(f64, usize)>,
    /// Whether paths are wanted: a picture is to be drawn.
    pub watched: bool,
    /// Where somebody is whenever something happens: who, when, and how far they have swum. Between two of these they swim evenly.
    pub seen: Vec<(usize, f64, f64)>,
    stage: Vec<Whereabouts>,
    metre: Vec<f64>,
    length: Vec<usize>,
    speed: Vec<f64>,
    /// The one in front, and how many metres are between the heads.
    front: Vec<Option<(usize, f64)>>,
}

impl LaneWater {
    /// Lets them swim; `leaving` is in the order of leaving, `pool` in metres.
    pub fn swim(&mut self, leaving: &[Leaving<'_>], pool: f64) {
        self.begin(leaving);
        let mut now = leaving.first().map_or(0.0, |first| first.at);
        loop {
            self.push_off(leaving, pool, now);
            self.watch(now);
            self.speeds(leaving, pool, now);
            let Some(step) = self.next(leaving, pool, now) else { break };
            now += step;
            for (who, metre) in self.metre.iter_mut().enumerate() {
                if self.stage.get(who) == Some(&Whereabouts::Swimming) {
                    *metre += self.speed.get(who).copied().unwrap_or(0.0) * step;
                }
            }
            self.watch(now);
            self.walls(leaving, pool, now);
        }
    }

    fn watch(&mut self, now: f64) {
        if self.watched {
            let under_way = (0..self.stage.len()).filter(|who| self.is_swimming(*who));
            let seen: Vec<_> = under_way.map(|who| (who, now, self.metre_of(who))).collect();
            self.seen.extend(seen);
        }
    }

    fn begin(&mut self, leaving: &[Leaving<'_>]) {
        fn fill<T: Clone>(values: &mut Vec<T>, count: usize, value: T) {
            values.clear();
            values.resize(count, value);
        }
        let count = leaving.len();
        fill(&mut self.swum, count, SwimTimes::default());
        fill(&mut self.stage, count, Whereabouts::Waiting);
        fill(&mut self.metre, count, 0.0);
        fill(&mut self.length, count, 0);
        fill(&mut self.speed, count, 0.0);
        fill(&mut self.front, count, None);
        self.turns.clear();
        self.seen.clear();
    }

    fn is_swimming(&self, who: usize) -> bool {
        self.stage.get(who) == Some(&Whereabouts::Swimming)
    }

    fn metre_of(&self, who: usize) -> f64 {
        self.metre.get(who).copied().unwrap_or(0.0)
    }

    /// The nearest in front around the circle who is under way, and the metres to their head.
    fn in_front(&self, who: usize, pool: f64) -> Option<(usize, f64)> {
        let own = self.metre_of(who);
        let others = (0..self.stage.len()).filter(|other| *other != who && self.is_swimming(*other));
        let metres = others.map(|other| (other, around(self.metre_of(other) - own, pool)));
        metres.min_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// Whoever keeps somebody from pushing off: who leaves before them and has not left, or who has just left or turned, with the
    /// metres that they still have to swim.
    fn in_the_way(&self, who: usize, pool: f64) -> Option<(usize, f64)> {
        let waiting = (0..who).rev().find(|other| self.stage.get(*other) == Some(&Whereabouts::Waiting));
        waiting.map(|other| (other, CONTACT)).or_else(|| {
            let others = (0..self.stage.len()).filter(|other| self.is_swimming(*other));
            let near = others.map(|other| (other, CONTACT - around(self.metre_of(other), pool)));
            near.filter(|(_, left)| *left > NEAR).min_by(|a, b| a.1.total_cmp(&b.1))
        })
    }

    /// Lets those go whose time has come and who have the feet in front far enough away.
    fn push_off(&mut self, leaving: &[Leaving<'_>], pool: f64, now: f64) {
        for (who, leave) in leaving.iter().enumerate() {
            if self.stage.get(who) != Some(&Whereabouts::Waiting) || leave.at > now + NEAR {
                continue;
            }
            if let Some((front, _)) = self.in_the_way(who, pool) {
                self.touched_feet(who, front, now, 0.0);
            } else if let (Some(stage), Some(swum)) = (self.stage.get_mut(who), self.swum.get_mut(who)) {
                (*stage, swum.left) = (Whereabouts::Swimming, now);
            }
        }
        for who in 0..leaving.len() {
            let front = if self.is_swimming(who) { self.in_front(who, pool) } else { None };
            if let Some(slot) = self.front.get_mut(who) {
                *slot = front;
            }
        }
    }

    /// The first time that somebody comes up to the one in front is noted.
    fn touched_feet(&mut self, who: usize, front: usize, at: f64, metre: f64) {
        if let Some(swum) = self.swum.get_mut(who)
            && swum.contact.is_none()
        {
            swum.contact = Some(Contact { front, at, metre });
        }
    }

    /// How fast everybody is: as they swim, or as the one in front allows.
    fn speeds(&mut self, leaving: &[Leaving<'_>], pool: f64, now: f64) {
        for (who, leave) in leaving.iter().enumerate() {
            let length = self.length.get(who).and_then(|length| leave.lengths.get(*length));
            let own = length.map_or(0.0, |seconds| pool / (seconds * leave.factor).max(NEAR));
            if let Some(speed) = self.speed.get_mut(who) {
                *speed = own;
            }
        }
        // Behind each other in a row, the slowest leads: as often as there are swimmers is enough.
        for _ in 0..leaving.len() {
            let mut changed = false;
            for who in 0..leaving.len() {
                let Some((front, metres)) = self.front.get(who).copied().flatten() else { continue };
                let (Some(own), Some(ahead)) = (self.speed.get(who).copied(), self.speed.get(front).copied()) else {
                    continue;
                };
                // Somebody pushes off right in front: whoever comes in waits until the feet are clear.
                let allowed = if metres < CONTACT - CLEAR { 0.0 } else { ahead };
                if metres <= CONTACT + NEAR && own > allowed + NEAR {
                    let metre = self.metre_of(who);
                    self.touched_feet(who, front, now, metre);
                    if let Some(speed) = self.speed.get_mut(who) {
                        *speed = allowed;
                    }
                    changed = true;
                }
            }
            if !changed {
                break;
            }
        }
    }

    /// How long until something happens; `None` when all have touched.
    fn next(&self, leaving: &[Leaving<'_>], pool: f64, now: f64) -> Option<f64> {
        let mut step = f64::INFINITY;
        for (who, leave) in leaving.iter().enumerate() {
            match self.stage.get(who) {
                Some(Whereabouts::Waiting) if leave.at > now + NEAR => step = step.min(leave.at - now),
                Some(Whereabouts::Waiting) => {
                    // Who waits behind somebody who waits is let go with them.
                    if let Some((other, left)) =
                        self.in_the_way(who, pool).filter(|(other, _)| self.is_swimming(*other))
                    {
                        let speed = self.speed.get(other).copied().unwrap_or(0.0);
                        step = step.min(left / speed.max(NEAR));
                    }
                }
                Some(Whereabouts::Swimming) => {
                    let speed = self.speed.get(who).copied().unwrap_or(0.0);
                    let wall = (self.length.get(who).copied().unwrap_or(0) + 1) as f64 * pool;
                    if speed > NEAR {
                        step = step.min((wall - self.metre_of(who)) / speed);
                    }
                    if let Some((front, metres)) = self.front.get(who).copied().flatten() {
                        let closing = speed - self.speed.get(front).copied().unwrap_or(0.0);
                        if closing > NEAR && metres > CONTACT + NEAR {
                            step = step.min((metres - CONTACT) / closing);
                        } else if closing < -NEAR && metres < CONTACT - CLEAR {
                            step = step.min((CONTACT - metres) / -closing);
                        }
                    }
                }
                Some(Whereabouts::Done) | None => {}
            }
        }
        step.is_finite().then_some(step.max(0.0))
    }

    /// Turns and touches of those who have reached a wall.
    fn walls(&mut self, leaving: &[Leaving<'_>], pool: f64, now: f64) {
        for (who, leave) in leaving.iter().enumerate() {
            let (Some(Whereabouts::Swimming), Some(length), Some(metre)) =
                (self.stage.get(who).copied(), self.length.get_mut(who), self.metre.get_mut(who))
            else {
                continue;
            };
            let wall = (*length + 1) as f64 * pool;
            if *metre < wall - NEAR {
                continue;
            }
            (*metre, *length) = (wall, *length + 1);
            if *length >= leave.lengths.len() {
                if let (Some(stage), Some(swum)) = (self.stage.get_mut(who), self.swum.get_mut(who)) {
                    (*stage, swum.touch) = (Whereabouts::Done, now);
                }
            } else if *length % 2 == 0 {
                self.turns.push((now, who));
            }
        }
    }
}

/// Metres around the circle, from 0 to its two lengths.
fn around(metres: f64, pool: f64) -> f64 {
    let circle = 2.0 * pool;
    metres - circle * libm::floor((metres + NEAR) / circle)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn swim(leaving: &[Leaving<'_>], pool: f64) -> Vec<SwimTimes> {
        let mut water = LaneWater::default();
        water.swim(leaving, pool);
        water.swum
    }

    fn near(a: f64, b: f64) -> bool {
        (a - b).abs() < 1e-6
    }

    #[test]
    fn two_swimmers_meet_where_arithmetic_says() {
        // The one in front at v, the other at w > v, g behind: the metres between them are v t − w (t − g), which is CONTACT at
        // t = (w g − CONTACT) / (w − v). From there on they touch one after another.
        for (slow, quick, gap) in [(30.0, 25.0, 5.0), (40.0, 25.0, 10.0), (31.0, 30.0, 4.0), (26.0, 25.0, 5.0)] {
            let (lengths, others) = ([slow; 8], [quick; 8]);
            let leaving = [
                Leaving { at: 0.0, lengths: &lengths, factor: 1.0 },
                Leaving { at: gap, lengths: &others, factor: 1.0 },
            ];
            let swum = swim(&leaving, 25.0);
            let (v, w) = (25.0 / slow, 25.0 / quick);
            let at = (w * gap - CONTACT) / (w - v);
            assert!(near(swum[0].touch, 8.0 * slow) && swum[0].contact.is_none());
            if at < 8.0 * slow {
                let contact = swum[1].contact.unwrap();
                assert!(
                    near(contact.at, at) && near(contact.metre, w * (at - gap)) && contact.front == 0,
                    "{contact:?}"
                );
                // What is left when the one in front has touched is swum at their own speed again.
                assert!(near(swum[1].touch, 8.0 * slow + CONTACT / w), "{:?}", swum[1]);
            } else {
                assert!(swum[1].contact.is_none() && near(swum[1].touch, gap + 8.0 * quick));
            }
        }
    }

    #[test]
    fn the_first_comes_up_to_the_last_of_a_long_swim() {
        // 400 m, 20 s and 40 s a length, the slow one 5 s behind: 1.25 t = 0.625 (t − 5) + 50 − CONTACT.
        let leaving = [
            Leaving { at: 0.0, lengths: &[20.0; 16], factor: 1.0 },
            Leaving { at: 5.0, lengths: &[40.0; 16], factor: 1.0 },
        ];
        let contact = swim(&leaving, 25.0)[0].contact.unwrap();
        assert!(near(contact.at, (50.0 - CONTACT - 3.125) / 0.625) && contact.front == 1, "{contact:?}");
    }

    #[test]
    fn nobody_pushes_off_onto_feet() {
        // At 40 s a length, 2.5 m take 4 s; a gap of 3 s is too little, and the next two wait for each other.
        let lengths = [40.0; 2];
        let leaving = [0.0, 3.0, 6.0].map(|at| Leaving { at, lengths: &lengths, factor: 1.0 });
        let swum = swim(&leaving, 25.0);
        assert!(near(swum[1].left, 4.0) && near(swum[2].left, 8.0), "{swum:?}");
        assert_eq!(swum[1].contact.map(|contact| (contact.front, contact.metre)), Some((0, 0.0)));
    }

    #[test]
    fn a_row_goes_as_fast_as_its_first() {
        let lengths = [[40.0; 8], [30.0; 8], [25.0; 8]];
        let leaving = [0, 1, 2].map(|n: usize| Leaving { at: 5.0 * n as f64, lengths: &lengths[n], factor: 1.0 });
        let swum = swim(&leaving, 25.0);
        assert_eq!([1, 2].map(|who: usize| swum[who].contact.map(|contact| contact.front)), [Some(0), Some(1)]);
        assert!(swum[0].touch < swum[1].touch && swum[1].touch < swum[2].touch, "{swum:?}");
        // Done, the first no longer holds anybody up: 2.5 m at 30 s a length, then as much at 25 s.
        assert!(near(swum[1].touch, 320.0 + 3.0) && near(swum[2].touch, 323.0 + 2.5), "{swum:?}");
    }
}
