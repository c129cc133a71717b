//! A practice as it stands on a whiteboard: `200 easy; 4x50 on 1:30 drill fist; 8x50 on 1:20 1.30-0.95; 100 easy`.
//!
//! [`read`](read::read) understands such a text or says what it does not, [`tell`] puts what was understood into words, and
//! [`write`](write::write) makes a cue script of it. Nothing is dropped: a word without a meaning here is an error, and
//! whatever the board leaves open is assumed aloud. Whether the practice can be swum is not known here; the script goes
//! the way of every script, and [`Written::back`](write::Written::back) brings its problems back to the board.

mod lex;
mod manner;
mod names;
mod parts;
pub mod read;
mod swim;
pub mod tell;
mod values;
mod words;
pub mod write;

use crate::diag::Span;
use crate::script::quantity::{self, Read};
use crate::script::{Phase, Water};
use crate::units::swim::PoolUnit;

/// What a board can name, and where it is swum.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Known {
    /// The water.
    pub water: Place,
    /// Ids of drills.
    pub drills: Vec<Name>,
    /// Ids of focus phrases.
    pub phrases: Vec<Name>,
}

/// Something of a pack, and the texts by which a board may call it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Name {
    /// Its id in scripts.
    pub id: String,
    /// Other texts for it: a phrase in full and its short form.
    pub texts: Vec<String>,
}

/// The water of a board.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// As a script writes it: `25 m`, `open water`.
    pub text: String,
    /// The unit of distances on the board.
    pub unit: PoolUnit,
    /// Units in one length; `None` in open water.
    pub length: Option<u32>,
}

impl Place {
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

/// A board that was understood.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Board {
    /// What is done, in order.
    pub pieces: Vec<Piece>,
    /// Ids of the drills named.
    pub drills: Vec<String>,
    /// Ids of the phrases named.
    pub phrases: Vec<String>,
}

/// One entry of a board.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Piece {
    /// Where it stands.
    pub span: Span,
    /// Its part of the practice.
    pub phase: Option<Phase>,
    /// The phase is a guess: the first or last swim, and easy.
    pub guessed: bool,
    /// What it is.
    pub what: What,
}

/// What an entry of a board is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum What {
    /// A rest at the wall; the key is `rest`.
    Rest(Key),
    /// One swim.
    Swim(Swim),
    /// `3x(...)`
    Rounds {
        /// How often, 1 to 100.
        count: u32,
        /// The rest between two rounds; the key is `between-rounds`.
        between: Option<Key>,
        /// What holds for every swim that does not have its own.
        shared: Vec<Key>,
        /// The swims of one round.
        swims: Vec<Swim>,
    },
}

/// Repeats of a distance and everything said of them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Swim {
    /// Where it stands.
    pub span: Span,
    /// How many, 1 to 1,000,000; those of a list of distances are counted by the list.
    pub repeats: u32,
    /// How far each.
    pub reach: Reach,
    /// Keys of the language with their values, in no order.
    pub keys: Vec<Key>,
    /// What each length is, in turn; empty where all are alike.
    pub lengths: Vec<Vec<Key>>,
    /// The board named the lengths without distances: one each was assumed.
    pub each_length: bool,
}

/// How far a repeat goes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Reach {
    /// In the water's unit: one distance, or one for each repeat.
    Distances(Vec<u32>),
    /// Whole minutes.
    Minutes(u32),
}

/// A key of the language that a board's words came to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Key {
    /// The key, such as `send-off`.
    pub name: &'static str,
    /// Its value as YAML.
    pub value: String,
    /// What it means in words.
    pub words: String,
    /// The board's words for it; for an assumption, the swim it was made for.
    pub span: Span,
    /// Not on the board.
    pub assumed: bool,
}

impl Swim {
    /// The value of a key.
    pub fn key(&self, name: &str) -> Option<&Key> {
        self.keys.iter().find(|key| key.name == name)
    }
}

impl Board {
    /// Units of distance swum in all; time is not counted.
    pub fn distance(&self) -> u64 {
        let of = |swim: &Swim| match &swim.reach {
            Reach::Distances(each) if each.len() > 1 => each.iter().map(|one| u64::from(*one)).sum(),
            Reach::Distances(each) => {
                each.iter().map(|one| u64::from(*one).saturating_mul(u64::from(swim.repeats))).sum()
            }
            Reach::Minutes(_) => 0,
        };
        let pieces = self.pieces.iter().map(|piece| match &piece.what {
            What::Rest(_) => 0,
            What::Swim(swim) => of(swim),
            What::Rounds { count, swims, .. } => {
                u64::from(*count).saturating_mul(swims.iter().map(of).fold(0, u64::saturating_add))
            }
        });
        pieces.fold(0, u64::saturating_add)
    }
}

#[cfg(test)]
mod tests;
