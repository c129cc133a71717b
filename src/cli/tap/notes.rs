//! `tap --log`: what was tapped into the notebook. Whatever could stand in the way is found before anybody taps.

use super::super::args::TapArgs;
use super::super::failure::Failure;
use super::super::log;
use super::super::notebook::{existing, failed, find, open};
use super::super::today::LocalTime;
use super::super::ui::Ui;
use super::profile;
use crate::diag::shown::printable;
use crate::notebook::from_taps::{self, TappedNotes};
use crate::notebook::place::WrittenPlace;
use crate::notebook::{ChangedMeanwhile, KeptPractice, Notebook, OpenFor, PracticeId, Wanted};
use crate::tapping::TappedSwim;
use crate::units::calendar::Day;
use crate::units::swim::PoolLength;

/// Where taps go.
pub struct NotesPlace {
    swimmer: String,
    pool: PoolLength,
    into: Option<RepeatPlace>,
}

/// A repeat of a practice that is there.
struct RepeatPlace {
    practice: PracticeId,
    day: Day,
    swim: (u32, u32),
    first: u32,
}

/// Finds the place.
pub fn place(args: &TapArgs, can_ask: bool, ui: &mut Ui) -> Result<NotesPlace, Failure> {
    let pool = profile::pool(args)?;
    let Some(into) = &args.into else {
        // Made when there is something to keep.
        let there = Notebook::open_existing(&find(&args.notebook)?, OpenFor::Reading).map_err(failed)?;
        return Ok(NotesPlace { swimmer: whose(there.as_ref(), args, can_ask, ui)?, pool, into: None });
    };
    let written = WrittenPlace::parse(into).map_err(|wrong| Failure::Usage(format!("--into: {wrong}")))?;
    let notebook = existing(&args.notebook, OpenFor::Reading)?;
    let swimmer = whose(Some(&notebook), args, can_ask, ui)?;
    let day = LocalTime::now().day;
    let found = since(&notebook, &swimmer, day)?.pop();
    let none = "of today no practice is in the notebook: keep it first (`lengthwise log SCRIPT`), or leave --into out";
    let found = found.ok_or_else(|| Failure::Usage(format!("{none}; the swimmer is {swimmer}")))?;
    let (set, repeat, first) =
        from_taps::place(&found.1, written).map_err(|wrong| Failure::Usage(format!("--into: {wrong}")))?;
    ui.message(format!("into {}, repeat {set}.{repeat}, from length {first} on\n", found.1.title));
    let into = RepeatPlace { practice: found.0, day, swim: (set, repeat), first };
    Ok(NotesPlace { swimmer, pool, into: Some(into) })
}

/// The practices of a swimmer from a day on.
fn since(notebook: &Notebook, swimmer: &str, day: Day) -> Result<Vec<KeptPractice>, Failure> {
    let wanted = Wanted { swimmer: Some(swimmer.to_owned()), since: Some(day), last: None };
    notebook.practices(&wanted).map_err(failed)
}

/// Whose strokes they are: who is named, else the notebook's only swimmer, else who is asked for.
fn whose(there: Option<&Notebook>, args: &TapArgs, can_ask: bool, ui: &mut Ui) -> Result<String, Failure> {
    let swimmers = there.map_or(Ok(Vec::new()), Notebook::swimmers).map_err(failed)?;
    Ok(log::whose(&swimmers, (args.swimmer.as_deref(), args.new_swimmer), can_ask, ui)?.name)
}

/// Keeps what was tapped.
pub fn keep(args: &TapArgs, place: NotesPlace, swim: &TappedSwim, ui: &mut Ui) -> Result<(), Failure> {
    let now = LocalTime::now();
    let notes = TappedNotes::of(swim, place.into.as_ref().map_or(1, |into| into.first));
    for left_out in &notes.left_out {
        ui.message(format!("not kept: {left_out}\n"));
    }
    let nothing = |why: &from_taps::NoPlaceForTaps| Failure::Usage(format!("nothing was kept: {why}"));
    let values = notes.observations.len();
    let kept = match place.into {
        Some(into) => {
            let mut notebook = open(&args.notebook, ui)?;
            // As it is now: somebody may have changed it meanwhile.
            let found = since(&notebook, &place.swimmer, into.day)?.into_iter().find(|(id, _)| *id == into.practice);
            let gone = || Failure::World("nothing was kept: the practice has gone from the notebook".to_owned());
            let (id, mut practice) = found.ok_or_else(gone)?;
            let read = practice.clone();
            from_taps::enter(&mut practice, into.swim, &notes).map_err(|why| nothing(&why))?;
            let what = format!("tapped into {}, {}, {}", practice.title, practice.swimmer, practice.day);
            let done = notebook.replace(&now.note(), &what, (id, &read), &practice).map_err(failed)?;
            done.map_err(|ChangedMeanwhile| {
                Failure::World(
                    "nothing was kept: the practice was changed from elsewhere at this moment; try again".into(),
                )
            })?;
            format!("{values} values into repeat {}.{} of {}", into.swim.0, into.swim.1, printable(&practice.title))
        }
        None => {
            let practice = from_taps::practice(&notes, &place.swimmer, (now.day, now.time), place.pool);
            let practice = practice.map_err(|why| nothing(&why))?;
            let what = format!("kept {}, {}, {}", practice.title, practice.swimmer, practice.day);
            open(&args.notebook, ui)?.add(&now.note(), &what, &[practice]).map_err(failed)?;
            format!("{values} values of {} in {}, as plain crawl", printable(&place.swimmer), place.pool)
        }
    };
    ui.message(format!("kept {kept}; `lengthwise log undo` takes it back\n"));
    Ok(())
}
