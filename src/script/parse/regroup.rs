//! A regroup: after how many repeats a lane stands longer, and for how long.

use crate::script::lane::Regroup;
use crate::script::quantity::lane;
use crate::script::tree::{self, Fields, Problems};
use crate::script::yaml::Node;

/// Reads the map.
pub fn parse_regroup(node: &Node, problems: &mut Problems) -> Option<Regroup> {
    let fields = Fields::of(node, "a regroup", &["every", "for"], problems)?;
    let every = fields.require("every", "every: 4 repeats", problems);
    let every = every.and_then(|node| tree::read(node, "every", lane::regroup_every, problems));
    let pause = fields.require("for", "for: 45 s", problems);
    let pause = pause.and_then(|node| tree::read(node, "for", lane::regroup_pause, problems));
    Some(Regroup { every: every?.value, pause: pause?.value })
}
