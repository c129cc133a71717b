//! Touches that come too soon to be meant: each is asked about once. Whoever takes touches from people, by keys or by lines,
//! asks here; what a touch does is `turns`' job.

use super::command::{Command, CourseCommand, LaneCommand};
use super::situation::{Activity, LateTouch, Situation, SwimmerIs};
use crate::units::time::Seconds;

/// How long a question stands.
const STANDS: Seconds = Seconds::from_secs(5);
/// Two keys in quick succession can be found in either order: when a key was pressed is known to within a block or two of
/// the device.
const SAME: Seconds = Seconds::from_millis(500);

/// What is to be done with a command.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Doubt {
    /// It is meant.
    Meant,
    /// It is a touch so long after the go: it is taken if it comes again.
    Asked(Seconds),
    /// It took back what was only asked about.
    Withdrawn,
}

/// A touch that is asked about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct AskedTouch {
    /// How long after the go it came.
    pub split: Seconds,
    /// Whose it is in a lane, by number.
    pub number: Option<u32>,
}

/// The question that stands, if any.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct TouchQuestion {
    /// When it was asked, and what about.
    asked: Option<(Seconds, AskedTouch)>,
}

impl TouchQuestion {
    /// Hears a command at a moment of the practice.
    pub fn hear(&mut self, command: Command, situation: &Situation, now: Seconds) -> Doubt {
        let asked = self.stands(now);
        self.asked = None;
        let touch = match command {
            Command::Course(CourseCommand::Touch) => {
                too_soon(situation, now).map(|split| AskedTouch { split, number: None })
            }
            Command::Course(CourseCommand::Lane(LaneCommand::Touch(number))) => {
                too_soon_of(situation, number, now).map(|split| AskedTouch { split, number: Some(number) })
            }
            _ => None,
        };
        match (command, touch) {
            (_, Some(touch)) if asked.is_none_or(|asked| asked.number != touch.number) => {
                self.asked = Some((now, touch));
                Doubt::Asked(touch.split)
            }
            (Command::Course(CourseCommand::Undo), _) if asked.is_some() => Doubt::Withdrawn,
            // Any other command is an answer too.
            _ => Doubt::Meant,
        }
    }

    /// The touch that is asked about, as long as the question stands.
    pub fn stands(&self, now: Seconds) -> Option<AskedTouch> {
        self.asked.filter(|(asked, _)| *asked <= now + SAME && now - *asked < STANDS).map(|(_, touch)| touch)
    }
}

/// The time since the go where a touch now would come before half of what is predicted, and is not the turn into the swim.
fn too_soon(situation: &Situation, now: Seconds) -> Option<Seconds> {
    let (go, touch) = situation.go.zip(situation.predicted_touch)?;
    let turn = situation.late == Some(LateTouch::Turn);
    (situation.phase == Activity::Swim && !turn && now - go < (touch - go).scaled(1, 2)).then(|| now - go)
}

/// The same of a swimmer of a lane, whose touch is not that of the start before.
fn too_soon_of(situation: &Situation, number: u32, now: Seconds) -> Option<Seconds> {
    let place = situation.lane.iter().find(|place| place.number == number)?;
    let SwimmerIs::Swims { go, due } = place.whereabouts else { return None };
    (!place.owes_touch && go <= now && now - go < (due - go).scaled(1, 2)).then(|| now - go)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::conductor::situation::LanePlace;

    const TOUCH: Command = Command::Course(CourseCommand::Touch);

    #[test]
    fn an_early_touch_is_asked_about_once() {
        let secs = Seconds::from_secs;
        let swims = Situation {
            phase: Activity::Swim,
            go: Some(secs(60)),
            predicted_touch: Some(secs(90)),
            ..Situation::default()
        };
        let mut question = TouchQuestion::default();
        let mut hear = |command, at| {
            (question.hear(command, &swims, secs(at)), question.stands(secs(at)).map(|touch| touch.split))
        };
        assert_eq!(hear(TOUCH, 63), (Doubt::Asked(secs(3)), Some(secs(3))));
        assert_eq!(hear(TOUCH, 65), (Doubt::Meant, None));
        // Another command is another answer, and undoing takes back nothing but the question.
        assert_eq!(hear(TOUCH, 65).0, Doubt::Asked(secs(5)));
        assert_eq!(hear(CourseCommand::Hold.into(), 66), (Doubt::Meant, None));
        assert_eq!(hear(TOUCH, 66).0, Doubt::Asked(secs(6)));
        assert_eq!(hear(CourseCommand::Undo.into(), 66), (Doubt::Withdrawn, None));
        assert_eq!(hear(CourseCommand::Undo.into(), 66).0, Doubt::Meant);
        // One that comes late asks again; from half the time on it is taken.
        assert_eq!(hear(TOUCH, 66).0, Doubt::Asked(secs(6)));
        assert_eq!(hear(TOUCH, 71).0, Doubt::Asked(secs(11)));
        assert_eq!(hear(TOUCH, 75).0, Doubt::Meant);
        // Twice at once: the second may seem to be the earlier one.
        assert_eq!(hear(TOUCH, 68).0, Doubt::Asked(secs(8)));
        let (twice, earlier) = (question.hear(TOUCH, &swims, Seconds::from_millis(67_950)), Doubt::Meant);
        assert_eq!(twice, earlier);
        let mut hear = |command, at| {
            (question.hear(command, &swims, secs(at)), question.stands(secs(at)).map(|touch| touch.split))
        };
        // The practice has been put back meanwhile.
        assert_eq!(hear(TOUCH, 70).0, Doubt::Asked(secs(10)));
        assert_eq!(hear(TOUCH, 62).0, Doubt::Asked(secs(2)));
    }

    #[test]
    fn a_turn_that_comes_late_is_meant() {
        let (go, predicted_touch) = (Some(Seconds::from_secs(60)), Some(Seconds::from_secs(90)));
        let mut swims = Situation { phase: Activity::Swim, go, predicted_touch, ..Situation::default() };
        for (late, doubt) in [(LateTouch::Turn, Doubt::Meant), (LateTouch::Missed, Doubt::Asked(Seconds::from_secs(3)))]
        {
            swims.late = Some(late);
            assert_eq!(TouchQuestion::default().hear(TOUCH, &swims, Seconds::from_secs(63)), doubt);
        }
    }

    #[test]
    fn in_a_lane_each_touch_is_asked_about_alone() {
        let secs = Seconds::from_secs;
        let place = |number, owes_touch| LanePlace {
            number,
            whereabouts: SwimmerIs::Swims { go: secs(60), due: secs(90) },
            split: None,
            next_go: None,
            owes_touch,
        };
        let swims = Situation { lane: vec![place(1, false), place(2, false), place(3, true)], ..Situation::default() };
        let mut question = TouchQuestion::default();
        let mut hear = |number, at| question.hear(LaneCommand::Touch(number).into(), &swims, secs(at));
        assert_eq!(hear(1, 63), Doubt::Asked(secs(3)));
        // Another swimmer's is another question; one who owes a touch is not asked.
        assert_eq!(hear(2, 64), Doubt::Asked(secs(4)));
        assert_eq!(hear(2, 65), Doubt::Meant);
        assert_eq!((hear(3, 65), hear(1, 80), hear(7, 65)), (Doubt::Meant, Doubt::Meant, Doubt::Meant));
    }

    #[test]
    fn in_a_rest_there_is_nothing_to_ask() {
        let (go, touch) = (Some(Seconds::from_secs(60)), Some(Seconds::from_secs(90)));
        for phase in [Activity::Talk, Activity::Rest, Activity::Hold, Activity::Over] {
            let rests = Situation { phase, go, predicted_touch: touch, ..Situation::default() };
            assert_eq!(TouchQuestion::default().hear(TOUCH, &rests, Seconds::from_secs(63)), Doubt::Meant);
        }
    }
}
