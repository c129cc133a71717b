//! Long lists as a coach says them: equal neighbours as one, a list that comes again once, nothing longer than can be listened
//! to; and each repeat with its own parts before its go. By hand, over short scripts.

use crate::heard::{heard, heard_by, ids, texts};

/// What is said of the set before its first go, behind its title.
fn about(set: &str) -> Vec<String> {
    let (gos, voices) = heard(set);
    let talk = voices.iter().filter(|voice| voice.at < gos[0]);
    let about = talk.skip_while(|voice| voice.id != "set").skip(1);
    about.take_while(|voice| !voice.id.starts_with("go-in")).map(|voice| voice.text.clone()).collect()
}

#[test]
fn lengths_that_are_alike_are_told_as_one() {
    // 16 lengths of 25 m: four of kick and four of swim, twice.
    let kinds = |kind: &str| [kind; 4].join(", ");
    let set =
        format!("swim: 2 x 400 m on 15:00, lengths: [{}, {}]", kinds("{ part: kick }"), kinds("{ focus: soft-hand }"));
    let told = [
        "two times four hundred metres",
        "each two times",
        "one hundred metres kick",
        "then one hundred metres swim soft hand into the water",
        "on fifteen minutes",
    ];
    assert_eq!(about(&set), told);
    let (gos, voices) = heard(&set);
    assert_eq!(texts(&voices, "in-turn"), ["two times one hundred metres kick then one hundred metres swim"; 2]);
    assert!(ids(&voices, gos[0], gos[1]).contains(&"in-turn"));
    assert_eq!(texts(&voices, "turns-to"), ["swim", "kick", "swim", "swim", "kick", "swim"]);
    // Length by length needs no distance; twice through is told.
    let (_, voices) = heard("swim: 2 x 100 m on 3:30, lengths: [{ drill: fist }, { focus: soft-hand }]");
    assert_eq!(texts(&voices, "in-turn"), ["two times fist then swim"; 2]);
}

#[test]
fn more_lengths_than_can_be_kept_in_mind_begin_a_list() {
    let set = "swim: 2 x 200 m on 6:30, lengths: [{ drill: fist }, { stroke: back }, { part: kick }, { focus: soft-hand }, \
               { drill: catch-up }, { stroke: breast }, { effort: fast }, { part: pull }]";
    let told = about(set);
    assert_eq!(told.len(), 1 + 8 + 1, "{told:#?}");
    let one = "twenty-five metres The fist drill. Hands closed, feel the water on your forearms.";
    assert_eq!((told[1].as_str(), told[2].as_str()), (one, "then twenty-five metres backstroke"));
    assert_eq!(told[7], "then twenty-five metres crawl fast effort");
    let (_, voices) = heard(set);
    let all =
        "fist then backstroke then kick then crawl then catch up then breaststroke then crawl fast effort then pull";
    let told = texts(&voices, "in-turn");
    assert!(told.iter().all(|told| [all, "fist then backstroke and so on"].contains(told)), "{told:?}");
    let turns = ["backstroke", "kick", "crawl", "catch up", "breaststroke", "crawl fast effort", "pull"];
    assert_eq!(texts(&voices, "turns-to"), [turns, turns].concat());
}

#[test]
fn a_turn_back_to_what_is_not_written_is_told() {
    let (_, voices) = heard("swim: 2 x 50 m on 1:30, lengths: [{ stroke: back }, { focus: soft-hand }]");
    assert_eq!(texts(&voices, "turns-to"), ["crawl"; 2]);
    let (_, voices) = heard("swim: 2 x 50 m on 1:30, lengths: [{ effort: fast }, { focus: soft-hand }]");
    assert_eq!(texts(&voices, "turns-to"), ["steady effort"; 2]);
    // Where only the phrase changes there is nothing else to say.
    let (_, voices) = heard("swim: 2 x 50 m on 1:30, lengths: [{ focus: look-down }, { focus: soft-hand }]");
    assert_eq!((texts(&voices, "turns-to").len(), texts(&voices, "in-turn").len()), (0, 0));
}

#[test]
fn a_list_of_swims_that_comes_again_is_told_once() {
    let one = "{ swim: 100 m on 2:10 }, { swim: 100 m on 4:00, part: kick }";
    let told = about(&format!("do: [{}]", [one; 4].join(", ")));
    let cycle = ["four times", "one hundred metres", "on two ten", "then one hundred metres kick", "on four minutes"];
    assert_eq!(told, cycle);
    // Each is named before its go all the same.
    let (gos, voices) = heard(&format!("do: [{}]", [one; 4].join(", ")));
    assert_eq!(gos.len(), 8);
    for (number, pair) in gos.windows(2).enumerate() {
        assert!(ids(&voices, pair[0], pair[1]).contains(&"swim"), "before repeat {}", number + 2);
    }
    // Neighbours that are alike are one: 50 m twice, then 100 m.
    let told = about("rest: 20 s, do: [{ swim: 50 m, drill: fist }, { swim: 50 m, drill: fist }, { swim: 100 m }]");
    let swims: Vec<_> = told.iter().filter(|text| text.ends_with("metres") || *text == "whole stroke").collect();
    assert_eq!(swims, ["two times fifty metres", "then one hundred metres", "whole stroke"], "{told:#?}");
}

#[test]
fn many_kinds_of_swims_are_named_and_no_more() {
    let swims = "{ swim: 50 m, drill: fist }, { swim: 100 m, stroke: back }, { swim: 50 m, part: kick }, { swim: 150 m, \
                 tempo: 1.30 s, breathe: every 3 }, { swim: 25 m, effort: fast }, { swim: 75 m, effort: easy }";
    let told = about(&format!("rest: 20 s, do: [{swims}]"));
    let named = [
        "fifty metres",
        "The fist drill. Hands closed, feel the water on your forearms.",
        "then one hundred metres backstroke",
        "whole stroke",
        "then fifty metres kick",
        "then one hundred and fifty metres swim",
        "then twenty-five metres fast effort",
        "then seventy-five metres easy effort",
    ];
    assert_eq!(told, named);
}

#[test]
fn distances_and_tempos_are_told_by_where_they_turn() {
    let first = |set: &str| about(set).into_iter().next().unwrap();
    let pyramid = "[50 m, 100 m, 150 m, 200 m, 150 m, 100 m, 50 m]";
    let told = "fifty metres up to two hundred metres down to fifty metres";
    assert_eq!(first(&format!("swim: {pyramid}, rest: 20 s")), told);
    let five = "fifty metres one hundred metres one hundred and fifty metres one hundred metres fifty metres";
    assert_eq!(first("swim: [50 m, 100 m, 150 m, 100 m, 50 m], rest: 20 s"), five);
    let told = "three times fifty metres then one hundred metres";
    assert_eq!(first("swim: [50 m, 100 m, 50 m, 100 m, 50 m, 100 m], rest: 20 s"), told);
    let told = "three times fifty metres then two times one hundred metres then two hundred metres";
    assert_eq!(first("swim: [50 m, 50 m, 50 m, 100 m, 100 m, 200 m], rest: 20 s"), told);
    // More turns than can be followed: how many there are, and within what.
    let told = "ten times fifty metres to two hundred metres";
    let zigzag = "[100 m, 50 m, 150 m, 50 m, 200 m, 100 m, 150 m, 100 m, 200 m, 150 m]";
    assert_eq!(first(&format!("swim: {zigzag}, rest: 20 s")), told);
    let told = about("swim: 5 x 50 m, rest: 20 s, tempo: [1.30 s, 1.20 s, 1.10 s, 1.20 s, 1.30 s]");
    assert_eq!(told[1], "tempo one point three down to one point one up to one point three", "{told:#?}");
    // Of a focus that stays for some repeats nobody says that each brings a new one.
    for (order, told) in [("blocked", "the focus changes"), ("in turn", "new focus each repeat")] {
        let focus = format!("focus: {{ phrases: [soft-hand, look-down], change: repeat, order: {order} }}");
        let said = about(&format!("swim: 4 x 50 m, rest: 20 s, {focus}"));
        assert!(said.contains(&told.to_owned()), "{order}: {said:?}");
    }
    // Two in turn are told once, however often they come.
    let told = about("swim: 5 x 50 m, rest: 20 s, tempo: [1.30 s, 1.20 s]");
    assert_eq!(told[1], "tempo one point three then one point two", "{told:#?}");
    let told = about("swim: 4 x 50 m, rest: 20 s, pace: [1:50, 2:05]");
    assert_eq!(told[1], "pace one fifty per hundred then two oh five", "{told:#?}");
}

#[test]
fn what_another_line_was_is_said_to_be_over() {
    let (gos, voices) = heard(
        "rest: 30 s, do: [{ swim: 50 m, part: kick }, { swim: 50 m }, { swim: 50 m, stroke: back, effort: easy }, \
         { swim: 50 m }, { swim: 50 m, tempo: 1.30 s }, { swim: 50 m, effort: easy }, { swim: 50 m, drill: fist }]",
    );
    let told = |index: usize| -> Vec<&str> {
        let swims =
            voices.iter().filter(|voice| voice.id == "swim" && voice.at > gos[index - 1] && voice.at < gos[index]);
        swims.map(|voice| voice.text.as_str()).collect()
    };
    assert_eq!(told(1), ["fifty metres swim"]);
    assert_eq!(told(2), ["fifty metres backstroke easy effort"]);
    assert_eq!(told(3), ["fifty metres crawl steady effort"]);
    assert_eq!(told(4), [""; 0], "the beat says it");
    assert_eq!(told(6), ["fifty metres"], "a drill has no effort");
}

#[test]
fn times_are_said_with_their_units() {
    let (_, voices) = heard_by(
        "headphones",
        "open water",
        "do: [{ swim: 30 s, rest: 0 s }, { swim: 90 s, rest: 0 s }, { swim: 10 min }]",
    );
    let swims = ["thirty seconds", "then one minute thirty seconds", "then ten minutes"];
    assert_eq!(texts(&voices, "swim")[..3], swims);
    // A hundred is due in the time of its pace: that is said once. Two minutes are not "two".
    let told = about("swim: 3 x 100 m, rest: 30 s, pace: 2:00");
    assert!(
        told.contains(&"due in two minutes".to_owned()) && !told.iter().any(|text| text.contains("pace")),
        "{told:#?}"
    );
    let told = about("swim: 3 x 50 m, rest: 30 s, pace: 2:00");
    assert!(told.contains(&"pace two minutes per hundred".to_owned()), "{told:#?}");
}
