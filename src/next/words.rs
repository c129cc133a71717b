//! Which words work: two phrases for one focus take turns by chance, so that neither has the better days.

use crate::notebook::PhrasePair;
use sha2::{Digest, Sha256};

/// The phrase of the practice that comes after `swum` practices of the comparison. Of each two practices one has the one and one
/// the other phrase, in an order that chance decides: from the swimmer and the day it began, so that it can be repeated and
/// nobody can tell it beforehand by habit.
pub fn turn<'p>(pair: &'p PhrasePair, swimmer: &str, swum: usize) -> &'p str {
    let seed = format!("{}\n{}\n{}\n{}\n{}", swimmer.to_lowercase(), pair.begun, pair.first, pair.second, swum / 2);
    let first_is_first = Sha256::digest(seed.as_bytes()).first().is_some_and(|byte| byte % 2 == 0);
    if first_is_first == swum.is_multiple_of(2) { &pair.first } else { &pair.second }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::next::tests::day;

    #[test]
    fn chance_is_fair_and_can_be_repeated() {
        let pair = PhrasePair { first: "reach-forward".into(), second: "long-reach".into(), begun: day(1) };
        let turns = |swimmer: &str| (0..200).map(|swum| turn(&pair, swimmer, swum).to_owned()).collect::<Vec<_>>();
        let ida = turns("Ida");
        assert_eq!(ida, turns("ida"));
        assert_ne!(ida, turns("Bo"));
        assert!(ida.chunks(2).all(|two| two[0] != two[1]), "each two have both");
        let first = ida.chunks(2).filter(|two| two[0] == "reach-forward").count();
        assert!((30..=70).contains(&first), "{first} of 100 begin with the first");
    }
}
