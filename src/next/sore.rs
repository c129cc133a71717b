//! Where something hurts: what is swum beside it, and something to think about.

use crate::pack::library::{Library, Role};
use crate::script::BodyPart;

/// Words of arms and shoulders, and of what moves with them.
const ARM: [&str; 12] =
    ["shoulder", "arm", "elbow", "wrist", "hand", "finger", "thumb", "neck", "back", "rib", "collarbone", "rotator"];
/// Words of legs.
const LEG: [&str; 16] = [
    "leg",
    "knee",
    "hip",
    "ankle",
    "foot",
    "feet",
    "toe",
    "calf",
    "thigh",
    "groin",
    "shin",
    "heel",
    "hamstring",
    "cramp",
    "achilles",
    "quad",
];
/// Words of what nobody swims with before a doctor has seen to it (care in the README: stop for chest pain, dizziness,
/// breathlessness).
const ALARM: [&str; 8] = ["chest", "heart", "dizz", "faint", "breathless", "out of breath", "numb", "head injury"];
/// Phrases that ask nothing of arms or legs, the first that a pack has in turn. Our choice.
const THOUGHTS: [&str; 7] =
    ["breathe-out", "look-down", "long-neck", "calm-face", "slow-bubbles", "loose-neck", "soft-mouth"];

/// Where it hurts, as far as words tell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PainSpot {
    /// In arm, shoulder, neck or back.
    Arm,
    /// In a leg.
    Leg,
    /// Somewhere else, or nobody can tell.
    Elsewhere,
}

/// Where it hurts, by what was logged. Arms go first: they do more of the work.
pub fn spot(pain: &str) -> PainSpot {
    let has = |words: &[&str]| names(pain, words);
    if has(&ARM) {
        PainSpot::Arm
    } else if has(&LEG) {
        PainSpot::Leg
    } else {
        PainSpot::Elsewhere
    }
}

/// Whether it is nothing to swim with before a doctor has seen to it.
pub fn is_alarm(pain: &str) -> bool {
    names(pain, &ALARM)
}

/// Whether one of the words begins a word of a text.
fn names(text: &str, words: &[&str]) -> bool {
    let text = format!(" {}", text.to_lowercase().replace(|letter: char| !letter.is_alphanumeric(), " "));
    words.iter().any(|word| text.contains(&format!(" {word}")))
}

/// What is swum beside what hurts.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Spared {
    /// What takes turns with any stroke.
    pub aside: Option<Aside>,
    /// Phrases to think of, at most two.
    pub thoughts: Vec<String>,
}

/// What takes turns with any stroke.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Aside {
    /// Kick on the back, the arms at rest.
    BackKick,
    /// A drill without arms, by its id.
    Kick(String),
    /// A drill without legs.
    Scull(String),
}

impl Spared {
    /// What a library has for somebody whom something hurts, after so many practices.
    pub fn of(pain: &str, library: &Library, practices: usize) -> Self {
        let drill = |part: BodyPart| {
            let has_part = |(id, _): &(&str, _)| library.movement(id).part == part;
            library.of(Role::Drill).find(has_part).map(|(id, _)| id.to_owned())
        };
        let aside = match spot(pain) {
            PainSpot::Arm => Some(Aside::BackKick),
            PainSpot::Leg => drill(BodyPart::Scull).map(Aside::Scull),
            PainSpot::Elsewhere => drill(BodyPart::Kick).map(Aside::Kick),
        };
        let known: Vec<&str> = THOUGHTS.into_iter().filter(|id| library.entry(Role::Phrase, id).is_some()).collect();
        let thoughts = known.iter().cycle().skip(2 * practices).take(known.len().min(2));
        Self { aside, thoughts: thoughts.map(|id| (*id).to_owned()).collect() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_tell_where_it_hurts() {
        for (pain, found) in [
            ("left shoulder", PainSpot::Arm),
            ("Lower back", PainSpot::Arm),
            ("both knees", PainSpot::Leg),
            ("calf, and the right elbow", PainSpot::Arm),
            ("ear", PainSpot::Elsewhere),
            ("a blister", PainSpot::Elsewhere),
        ] {
            assert_eq!(spot(pain), found, "{pain}");
        }
        assert!(is_alarm("pain in the chest") && is_alarm("dizzy") && !is_alarm("left shoulder"));
    }
}
