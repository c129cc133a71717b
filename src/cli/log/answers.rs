//! What was said of a practice by options.

use crate::cli::args::AnswerArgs;
use crate::cli::failure::Failure;
use crate::notebook::answers::Answers;
use crate::notebook::entry::ValueSource;
use crate::notebook::outline::Outline;
use crate::notebook::place::WrongAnswer;
use crate::notebook::written;

/// How counts are known.
pub(super) const fn source(args: &AnswerArgs) -> ValueSource {
    if args.coach { ValueSource::Coach } else { ValueSource::Counted }
}

/// Whether anything is said by options, so that nothing is asked.
pub(super) fn are_given(args: &AnswerArgs) -> bool {
    let AnswerArgs { missed, count, time, apart, feel, effort, minutes, pain, note, coach: _ } = args;
    [missed, count, time, apart].into_iter().any(|list| !list.is_empty())
        || [feel, effort, minutes, pain, note].into_iter().any(Option::is_some)
}

/// The options as answers; all that is wrong with them at once.
pub(super) fn read(args: &AnswerArgs, outline: &Outline) -> Result<Answers, Failure> {
    let counted = source(args);
    let clock = if args.coach { ValueSource::Coach } else { ValueSource::Clock };
    let mut wrong: Vec<String> = Vec::new();
    let mut answers = Answers::default();
    if !args.missed.is_empty() {
        answers.missed = taken("--missed", written::missed(&args.missed.join(", "), outline), &mut wrong);
    }
    for count in &args.count {
        answers
            .values
            .extend(taken("--count", written::count(count, outline, counted), &mut wrong).into_iter().flatten());
    }
    for time in &args.time {
        answers.values.extend(taken("--time", written::time(time, outline, clock), &mut wrong));
    }
    if !args.apart.is_empty() {
        answers.apart = taken("--apart", written::apart(&args.apart.join(", "), outline), &mut wrong);
    }
    let given = |option: &Option<String>| option.clone();
    answers.feel = given(&args.feel).and_then(|text| taken("--feel", written::feel(&text), &mut wrong));
    answers.effort = given(&args.effort).and_then(|text| taken("--effort", written::effort(&text), &mut wrong));
    answers.minutes = given(&args.minutes).and_then(|text| taken("--minutes", written::minutes(&text), &mut wrong));
    answers.pain = given(&args.pain).and_then(|text| taken("--pain", written::pain(&text), &mut wrong));
    answers.note = given(&args.note).and_then(|text| taken("--note", written::text(&text), &mut wrong));
    if wrong.is_empty() {
        Ok(answers)
    } else {
        Err(Failure::Usage(format!("nothing was kept: {}", wrong.join("\n  "))))
    }
}

fn taken<T>(option: &str, read: Result<T, WrongAnswer>, wrong: &mut Vec<String>) -> Option<T> {
    read.map_err(|why| wrong.push(format!("{option}: {why}"))).ok()
}
