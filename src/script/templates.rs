//! Scripts to begin with, as texts full of comments. That each has no problems is tested where packs are known.

/// A template.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Template {
    /// Its name on the command line.
    pub name: &'static str,
    /// The script.
    pub text: &'static str,
}

/// A first practice: drill, focus and a first beat.
pub const FIRST_PRACTICE: Template =
    Template { name: "first-practice", text: include_str!("templates/first-practice.yaml") };
/// Distances and tempos up and down.
pub const LADDER: Template = Template { name: "ladder", text: include_str!("templates/ladder.yaml") };
/// A timed swim, then send-offs.
pub const TIMED_SET: Template = Template { name: "timed-set", text: include_str!("templates/timed-set.yaml") };
/// Swims by time, both sides, looking ahead.
pub const OPEN_WATER: Template = Template { name: "open-water", text: include_str!("templates/open-water.yaml") };
/// An hour for three lanes, who swims where.
pub const THREE_LANES: Template = Template { name: "three-lanes", text: include_str!("templates/three-lanes.yaml") };

/// Every template.
pub const ALL: [Template; 5] = [FIRST_PRACTICE, LADDER, TIMED_SET, OPEN_WATER, THREE_LANES];
