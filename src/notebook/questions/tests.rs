use super::*;
use crate::notebook::entry::{Impressions, LoggedSet, Observation};
use crate::notebook::lengths::LengthRuns;
use crate::notebook::sample;

fn repeat(number: u32, lengths: u32, tempo: Option<f64>) -> LoggedRepeat {
    LoggedRepeat { tempo, predicted: Some(1_234.5), ..sample::repeat(number, lengths) }
}

/// A kick set without anything to count, 3 x 50 m whose last lengths are counted, 200 m against the clock.
fn outline() -> Outline {
    let set = |number, repeats| LoggedSet { number, title: "Set".into(), apart: None, repeats };
    let kick = LoggedRepeat { plain: LengthRuns::default(), swim: "50 m kick".into(), ..repeat(1, 2, None) };
    let range = (1..).zip([1.3, 1.2, 1.1]).map(|(number, tempo)| repeat(number, 2, Some(tempo))).collect();
    let practice = sample::practice(vec![set(1, vec![kick]), set(2, range), set(3, vec![repeat(1, 8, None)])]);
    let asked = |repeat| AskedLength { swim: AskedSwim { set: 2, repeat }, length: 2 };
    Outline { practice, counts: (1..=3).map(asked).collect(), times: vec![AskedSwim { set: 3, repeat: 1 }] }
}

/// What each line came to, and all answers.
fn hear(outline: &Outline, lines: &[&str]) -> (Vec<Heard>, Option<String>, Answers) {
    let mut interview = Interview::new(outline, ValueSource::Counted);
    let heard = lines.iter().map(|line| {
        assert!(interview.question().is_some(), "no question for {line}");
        interview.hear(line)
    });
    let heard = heard.collect();
    (heard, interview.question(), interview.answers())
}

#[test]
fn six_questions_none_of_which_needs_an_answer() {
    let outline = outline();
    let (heard, left, answers) = hear(&outline, &[""; 6]);
    assert_eq!((heard, left), (vec![Heard::Taken; 6], None));
    assert!(answers.is_empty(), "{answers:?}");
    let mut practice = outline.practice.clone();
    answers.apply(&mut practice).unwrap();
    assert_eq!(practice, outline.practice);
}

#[test]
fn answers_enter_the_practice() {
    let outline = outline();
    let lines = ["1", "18, 21? at 1.15", "3:52", "2.2", "4 6 42", "left shoulder"];
    let (heard, left, answers) = hear(&outline, &lines);
    assert_eq!((&heard[..5], &heard[5], left), (&[const { Heard::Taken }; 5][..], &Heard::Reply(IN_PAIN), None));
    let mut practice = outline.practice.clone();
    answers.apply(&mut practice).unwrap();
    let states: Vec<SwimState> = practice.repeats().map(|(_, repeat)| repeat.state).collect();
    assert_eq!(states[0], SwimState::Missed);
    assert!(states[1..].iter().all(|state| *state == SwimState::Swum));
    let observed = |set: usize, repeat: usize| practice.sets[set].repeats[repeat].observations.clone();
    let value = |measure, length, value, source| Observation { measure, length, value, source };
    assert_eq!(observed(1, 0), [value(Measure::Count, Some(2), 18.0, ValueSource::Counted)]);
    assert_eq!(
        observed(1, 2),
        [
            value(Measure::Count, Some(2), 21.0, ValueSource::Guess),
            value(Measure::Tempo, Some(2), 1.15, ValueSource::Guess)
        ]
    );
    assert_eq!(observed(2, 0), [value(Measure::Time, None, 232.0, ValueSource::Clock)]);
    assert_eq!((practice.sets[1].apart, practice.minutes), (Some(2), Some(42.0)));
    let said =
        Impressions { feel: Some(4), effort: Some(6), pain: Some("left shoulder".into()), ..Impressions::default() };
    assert_eq!(practice.said, said);
}

#[test]
fn a_wrong_answer_is_asked_again_and_u_goes_back() {
    let outline = outline();
    let lines = ["9", "no", "300", "18", "u", "u", "2.3", "18 20"];
    let (heard, left, answers) = hear(&outline, &lines);
    assert!(matches!(&heard[0], Heard::Again(wrong) if wrong.to_string().contains("there is no set 9")), "{heard:?}");
    assert!(matches!(&heard[2], Heard::Again(wrong) if wrong.to_string().contains("4 to 75")), "{heard:?}");
    assert_eq!((&heard[4], &heard[5]), (&Heard::Back, &Heard::Back));
    // With 2.3 left out, the last that was counted is 2.2.
    let counted: Vec<_> = answers.values.iter().map(|said| (said.swim.repeat, said.value.unwrap().0)).collect();
    assert_eq!(counted, [(1, 18.0), (2, 20.0)]);
    assert_eq!(answers.missed, Some(vec![AskedSwim { set: 2, repeat: 3 }]));
    assert!(left.unwrap().starts_with("What time did you swim for 200 m swim (3.1)?"));
    let (heard, ..) = hear(&outline, &["2", "2.3=19"]);
    assert!(matches!(&heard[1], Heard::Again(wrong) if wrong.to_string().contains("2.3 was left out")), "{heard:?}");
    // That it held is an answer too, and another than none; a place takes it back.
    for (line, held, apart) in [("no", true, None), ("", false, None), ("2.2", false, Some(2))] {
        let (.., answers) = hear(&outline, &["no", "", "", line]);
        let mut practice = outline.practice.clone();
        practice.said.held = line == "2.2";
        answers.apply(&mut practice).unwrap();
        assert_eq!((practice.said.held, practice.sets[1].apart), (held, apart));
    }
    // Before the first question there is none.
    assert_eq!(hear(&outline, &["u", "no"]).0, [Heard::Back, Heard::Taken]);
}

#[test]
fn nothing_predicted_is_shown_and_only_what_is_there_is_asked() {
    let mut outline = outline();
    let mut interview = Interview::new(&outline, ValueSource::Counted);
    let mut questions = Vec::new();
    while let Some(question) = interview.question() {
        assert!(!question.contains("1234") && !question.contains("20:34"), "{question}");
        questions.push(question);
        interview.hear("");
    }
    assert_eq!(questions.len(), 6);
    assert!(
        questions[1].contains("last length of 2.1 (50 m swim, 1.30 s a stroke), and last length of 2.3"),
        "{}",
        questions[1]
    );
    // Kick alone: neither strokes nor a time.
    outline.practice.sets.truncate(1);
    (outline.counts, outline.times) = (Vec::new(), Vec::new());
    let (heard, left, _) = hear(&outline, &["no", "u", "no", "no", "4 5", "no"]);
    assert_eq!((heard.len(), left), (6, None));
    let (heard, left, _) = hear(&outline, &["no", "no", "4 5 60 7"]);
    assert!(matches!(&heard[2], Heard::Again(wrong) if wrong.to_string().contains("one too many")), "{heard:?}");
    assert!(left.unwrap().starts_with("Feel 1 to 5"));
}

#[test]
fn what_was_kept_is_shown_when_it_is_looked_at_again() {
    let outline = outline();
    let mut practice = outline.practice.clone();
    let (.., answers) = hear(&outline, &["2.2", "18at1.25 21?", "3:52", "2.3", "4 6", "no"]);
    answers.apply(&mut practice).unwrap();
    let again = Outline::of_kept(practice.clone());
    let mut interview = Interview::new(&again, ValueSource::Counted);
    let mut now = Vec::new();
    while let Some(question) = interview.question() {
        now.push(question.lines().nth(1).unwrap().to_owned());
        interview.hear("");
    }
    let keeps = |now: &str| format!("so far: {now}; Enter keeps it");
    assert_eq!(now, ["2.2", "18at1.25 21?", "3:52", "2.3", "feel 4, effort 6", "no"].map(keeps));
    // What is left out stays.
    let mut edited = practice.clone();
    interview.answers().apply(&mut edited).unwrap();
    assert_eq!(edited, practice);
    // What a question shows can be typed again and changes nothing.
    let (.., same) = hear(&again, &["2.2", "18at1.25 21?", "3:52", "2.3", "4 6", "no"]);
    same.apply(&mut edited).unwrap();
    assert_eq!(edited, practice);
    // That nothing was left out and that the stroke held are answers that are shown too.
    let (.., answers) = hear(&outline, &["no", "", "", "no", "", ""]);
    let mut practice = outline.practice.clone();
    answers.apply(&mut practice).unwrap();
    let again = Outline::of_kept(practice);
    let mut interview = Interview::new(&again, ValueSource::Counted);
    let missed = interview.question().unwrap();
    let kept = "so far: no; Enter keeps it";
    assert_eq!(missed.lines().take(2).collect::<Vec<_>>(), ["Did you leave anything out?", kept]);
    ["", "", ""].iter().for_each(|line| drop(interview.question().map(|_| interview.hear(line))));
    let apart = interview.question().unwrap();
    assert_eq!(apart.lines().take(2).collect::<Vec<_>>(), ["Where did the stroke fall apart?", kept]);
}
