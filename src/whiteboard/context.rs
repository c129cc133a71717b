//! What a board can name, and the water that it is swum in.

use crate::script::Water;
use crate::script::quantity::{self, Read};
use crate::units::swim::PoolUnit;

/// What a board can name, and where it is swum.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BoardContext {
    /// The water.
    pub water: BoardWater,
    /// Ids of drills.
    pub drills: Vec<KnownName>,
    /// Ids of focus phrases.
    pub phrases: Vec<KnownName>,
}

/// Something of a pack, and the texts by which a board may call it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KnownName {
    /// Its id in scripts.
    pub id: String,
    /// Other texts for it: a phrase in full and its short form.
    pub texts: Vec<String>,
}

/// The water of a board.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BoardWater {
    /// As a script writes it: `25 m`, `open water`.
    pub text: String,
    /// The unit of distances on the board.
    pub unit: PoolUnit,
    /// Units in one length; `None` in open water.
    pub length: Option<u32>,
}

impl BoardWater {
    /// A pool such as `25 m`, or `open water`.
    ///
    /// # Errors
    /// As for the script's `pool`.
    pub fn parse(text: &str) -> Read<Self> {
        Ok(match quantity::swim::water(text)? {
            Water::Pool(pool) => {
                Self { text: pool.to_string(), unit: pool.unit(), length: Some(pool.distance().count()) }
            }
            Water::Open => Self { text: "open water".into(), unit: PoolUnit::Metre, length: None },
        })
    }
}
