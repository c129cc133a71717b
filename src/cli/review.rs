//! `review`: what the notebook says.

mod json;
mod page;
mod squad;

use super::args::ReviewArgs;
use super::failure::Failure;
use super::notebook::{existing, failed};
use super::page_file::{check_name, may_replace, write};
use super::today::LocalTime;
use super::ui::Ui;
use crate::diag::shown::printable;
use crate::notebook::entry::NotedSwimmer;
use crate::notebook::known::strokes_before;
use crate::notebook::{Notebook, OpenFor, Wanted};
use crate::page::review::ReviewPage;
use crate::page::typed::DecimalMark;
use crate::review::whole::Review;
use crate::units::calendar::Day;

/// Runs the command.
pub fn run(args: &ReviewArgs, ui: &mut Ui) -> Result<(), Failure> {
    let notebook = existing(&args.notebook, OpenFor::Reading)?;
    let today = args.as_of.unwrap_or_else(|| LocalTime::now().day);
    let swimmers = notebook.swimmers().map_err(failed)?;
    let weeks = usize::from(args.weeks);
    match (&args.swimmer, &swimmers[..]) {
        (None, []) => {
            Err(Failure::World("the notebook has no swimmer yet: `lengthwise log SCRIPT` begins with one".into()))
        }
        (None, [one]) => show(args, &review(&notebook, one, today, weeks)?, ui),
        (None, many) if args.page.is_some() => {
            let names: Vec<&str> = many.iter().map(|one| one.name.as_str()).collect();
            let names = printable(&names.join(", ")).into_owned();
            Err(Failure::Usage(format!("a page is about one swimmer: say whose with --swimmer ({names})")))
        }
        (None, many) => {
            let all =
                many.iter().map(|one| review(&notebook, one, today, weeks)).collect::<Result<Vec<_>, Failure>>()?;
            Ok(ui.result(if args.json { json::squad(&all) } else { squad::page(&all) })?)
        }
        (Some(name), all) => {
            let named = all.iter().find(|noted| noted.is_called(name));
            let names = || all.iter().map(|noted| noted.name.as_str()).collect::<Vec<_>>().join(", ");
            let none = || {
                Failure::Usage(format!(
                    "the notebook knows no swimmer `{}`; it knows {}",
                    printable(name),
                    printable(&names())
                ))
            };
            show(args, &review(&notebook, named.ok_or_else(none)?, today, weeks)?, ui)
        }
    }
}

fn show(args: &ReviewArgs, review: &Review, ui: &mut Ui) -> Result<(), Failure> {
    if let Some(output) = &args.page {
        check_name(output)?;
        let page = ReviewPage { review, decimals: DecimalMark::comma(args.decimal_comma) };
        let replace = may_replace(output, &page.identity(), args.force);
        return write(output, &page.html(), replace, ui);
    }
    Ok(ui.result(if args.json { json::one(review) } else { page::page(review, args.on) })?)
}

fn review(notebook: &Notebook, noted: &NotedSwimmer, today: Day, weeks: usize) -> Result<Review, Failure> {
    let kept =
        notebook.practices(&Wanted { swimmer: Some(noted.name.clone()), ..Wanted::default() }).map_err(failed)?;
    let until = kept.into_iter().map(|(_, practice)| practice).filter(|practice| practice.day <= today);
    let pair = notebook.compared(&noted.name).map_err(failed)?;
    Ok(Review::comparing(&noted.name, &until.collect::<Vec<_>>(), &strokes_before(noted), today, weeks, pair))
}
