//! What is heard at the poolside, where nothing reaches a head in the water, and where little time is left to say it; and in open
//! water, where nobody feels when the time is over.

use crate::heard::{Voice, heard_by, ids, texts};

fn speaker(set: &str) -> (Vec<f64>, Vec<Voice>) {
    heard_by("speaker", "25 m", set)
}

#[test]
fn phrases_come_in_the_order_in_which_they_are_swum() {
    let set = "swim: 3 x 100 m on 2:30, focus: { phrases: [reach-forward, look-down, hips-up], change: length }";
    let (gos, voices) = speaker(set);
    // Four lengths of three phrases in turn: the second repeat begins with the second, the third with the third.
    let phrases = |from: f64, to: f64| -> Vec<&str> {
        let known = ["reach-forward", "look-down", "hips-up"];
        ids(&voices, from, to).into_iter().filter(|id| known.contains(id)).collect()
    };
    assert_eq!(phrases(0.0, gos[0]), ["reach-forward", "look-down", "hips-up"]);
    assert_eq!(phrases(gos[0], gos[1]), ["look-down", "hips-up", "reach-forward"]);
    assert_eq!(phrases(gos[1], gos[2]), ["hips-up", "reach-forward", "look-down"]);
    // And all of them before "go in ten", the last thing that is said at the poolside.
    for (from, go) in [(0.0, gos[0]), (gos[0], gos[1]), (gos[1], gos[2])] {
        assert_eq!(ids(&voices, from, go).last(), Some(&"echo-10"));
    }
}

#[test]
fn with_little_rest_the_number_and_the_phrase_take_turns() {
    // 55 s for 50 m: 15 s of rest, three of which nobody listens in.
    let (gos, voices) = speaker("swim: 6 x 50 m on 1:10, effort: steady, focus: reach-forward");
    let told = |index: usize| {
        let before = ids(&voices, gos[index - 1], gos[index]);
        (before.contains(&"reach-forward"), before.iter().any(|id| ["which", "last-one"].contains(id)))
    };
    assert!(ids(&voices, 0.0, gos[0]).contains(&"reach-forward"));
    for index in 1..gos.len() {
        let (phrase, number) = told(index);
        assert!(phrase || number, "nothing before repeat {}", index + 1);
        assert!(phrase == (index % 2 == 0), "the phrase has each other repeat, and not repeat {}", index + 1);
    }
    // A new one is told whoever's turn it is.
    let set = "swim: 4 x 50 m on 1:10, effort: steady, focus: { phrases: [reach-forward, look-down], change: repeat }";
    let (gos, voices) = speaker(set);
    for (index, pair) in gos.windows(2).enumerate() {
        let new = if index % 2 == 0 { "look-down" } else { "reach-forward" };
        assert!(ids(&voices, pair[0], pair[1]).contains(&new), "before repeat {}", index + 2);
    }
}

#[test]
fn the_first_phrase_of_every_set_is_heard() {
    let (gos, voices) = speaker("swim: 2 x 50 m on 1:30, focus: reach-forward");
    // It ends before "go in ten".
    let phrase = voices.iter().find(|voice| voice.id == "reach-forward").unwrap();
    assert!(phrase.at < gos[0] - 10.0, "{} before {}", phrase.at, gos[0]);
}

#[test]
fn what_no_mark_tells_is_told() {
    let (_, voices) = speaker("swim: 2 x 100 m on 2:30, tempo: 1.30 s, breathe: { right: 20, left: 18 }");
    assert_eq!(texts(&voices, "breathe-sides"), ["breathe right twenty then breathe left eighteen"]);
    // Which one to count comes under way in the ear only: here it is told before the go where it is new.
    let swims = "rest: 30 s, do: [{ swim: 50 m }, { swim: 50 m, count: last length }]";
    let (gos, voices) = speaker(swims);
    assert!(ids(&voices, gos[0], gos[1]).contains(&"count-last-length"));
    assert!(texts(&voices, "count-this-one").is_empty());
    let (gos, voices) = heard_by("headphones", "25 m", swims);
    assert!(!ids(&voices, gos[0], gos[1]).contains(&"count-last-length"));
    assert_eq!(texts(&voices, "count-this-one").len(), 1);
}

#[test]
fn a_swim_by_time_says_when_it_is_over() {
    let (gos, voices) = heard_by("headphones", "open water", "swim: 2 x 5 min, rest: 1:00, tempo: 1.30 s");
    let over: Vec<f64> = voices.iter().filter(|voice| voice.id == "time-up").map(|voice| voice.at).collect();
    assert_eq!(over.len(), 2);
    for (over, go) in over.iter().zip(&gos) {
        assert!((300.0..302.0).contains(&(over - go)), "{over} after {go}");
    }
    // A swim that goes on without a stop does not.
    let joined = "do: [{ swim: 1 min, rest: 0 s }, { swim: 4 min }]";
    let (_, voices) = heard_by("headphones", "open water", joined);
    assert_eq!(texts(&voices, "time-up").len(), 1);
    // A swim by distance neither: nobody knows when it is over.
    let (_, voices) = heard_by("headphones", "open water", "swim: 2 x 400 m, rest: 1:00");
    assert!(texts(&voices, "time-up").is_empty());
}

#[test]
fn what_another_line_asks_for_is_told_before_it() {
    let set = "rounds: 2, rest: 40 s, do: [{ swim: 50 m }, { swim: 3 x 50 m, tempo: 1.30 s, breathe: every 3 }, \
               { swim: 100 m, test: time }, { swim: 25 m, rest: 0 s }, { swim: 25 m, effort: fast }]";
    let (gos, voices) = heard_by("headphones", "25 m", set);
    // 1 + 3 + 1 + 1 goes a round; the last one is joined to the one before it.
    assert_eq!(gos.len(), 2 * 6);
    let before = |index: usize| ids(&voices, gos[index - 1], gos[index]);
    assert!(before(1).contains(&"breathe-every-3") && before(1).contains(&"tempo"), "{:?}", before(1));
    assert!(before(4).contains(&"test-time"), "{:?}", before(4));
    assert!(before(5).contains(&"straight-on"), "{:?}", before(5));
    assert!(before(6).contains(&"last-round") && !before(6).contains(&"which"), "{:?}", before(6));
    assert!(before(11).contains(&"straight-on"), "{:?}", before(11));
    // Of its round, as on the screen, a part that is joined included.
    let round = ["two of seven", "three of seven", "four of seven", "five of seven", "six of seven"];
    assert_eq!(texts(&voices, "which"), round.repeat(2));
}
