//! `new --profile`: a swimmer's profile. What has not been given is asked where somebody can answer.

use super::args::New;
use super::ask::{ask, refused};
use super::failure::Failure;
use super::ui::Ui;
use crate::authoring::new_profile::{ProfileDraft, ProfileFacts, begin};
use crate::script::quantity::{Misread, swim};
use crate::swimmer::hundred;
use std::io::{IsTerminal, stdin};

/// The profile, from the arguments and from answers.
pub fn draft(args: &New, ui: &mut Ui) -> Result<ProfileDraft, Failure> {
    let watched = stdin().is_terminal();
    let answer = |ui: &mut Ui, given: &Option<String>, question: &str| match given {
        Some(given) => Ok(Some(given.clone())),
        None if watched => ask(ui, question).map(|answer| Some(answer).filter(|answer| !answer.is_empty())),
        None => Ok(None),
    };
    let name = answer(ui, &args.called, "What is the swimmer called? Empty: no name")?;
    let pool = answer(ui, &args.pool, "How long is the pool? Empty: 25 m")?;
    let pool = swim::pool(pool.as_deref().unwrap_or("25 m")).map_err(|fault| wrong("the pool", fault))?;
    let mut hundred = args.hundred;
    if watched && hundred.is_none() && args.time.is_none() {
        let question = format!("How long does 100 {} take, swum steadily? Such as 1:50", pool.unit().sign());
        hundred = Some(self::hundred(&ask(ui, &question)?).map_err(|fault| wrong("the time", fault))?);
    }
    let count = answer(ui, &args.count, "How many strokes in one length, each hand that goes in? Empty: not known")?;
    if hundred.is_none() && (count.is_none() || args.time.is_none()) {
        return Err(refused("give a time for 100, such as `--hundred 1:50`, or a length: `--count 19 --time 27.5s`"));
    }
    begin(&ProfileFacts { name, pool, hundred, count, time: args.time.clone() })
        .map_err(|unfit| refused(&unfit.to_string()))
}

fn wrong(what: &str, fault: Misread) -> Failure {
    let hint = fault.hint.map_or_else(String::new, |hint| format!("; {hint}"));
    refused(&format!("{what}: {}{hint}", fault.message))
}
