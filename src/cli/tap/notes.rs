//! `tap --log`: what was tapped into the notebook. Whatever could stand in the way is found before anybody taps.

use super::super::args::TapArgs;
use super::super::failure::Failure;
use super::super::log::{self, LoggedScript, SheetSwimmer};
use super::super::notebook::{existing, failed, find, open};
use super::super::today::LocalTime;
use super::super::ui::Ui;
use super::profile;
use crate::diag::shown::printable;
use crate::notebook::entry::{LoggedPractice, NotedSwimmer, is_name};
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
    into: TapsInto,
}

/// What they go into.
enum TapsInto {
    /// A practice of nothing else, swum so; plain crawl where nothing is said.
    Own(Option<String>),
    /// A repeat of a practice that is there, of that day.
    Kept(PracticeId, Day, RepeatPlace),
    /// A repeat of a practice that is kept with them.
    Planned(Box<LoggedPractice>, RepeatPlace),
}

/// A repeat, and the first of its lengths.
#[derive(Clone, Copy)]
struct RepeatPlace {
    swim: (u32, u32),
    first: u32,
}

/// Finds the place.
pub fn place(args: &TapArgs, can_ask: bool, ui: &mut Ui) -> Result<NotesPlace, Failure> {
    let pool = profile::pool(args)?;
    // Made when there is something to keep.
    let there = Notebook::open_existing(&find(&args.notebook)?, OpenFor::Reading).map_err(failed)?;
    let Some(into) = &args.into else {
        let swum = args.swum.as_deref().map(swum).transpose()?.flatten();
        return Ok(NotesPlace {
            swimmer: whose(there.as_ref(), args, can_ask, ui)?.name,
            pool,
            into: TapsInto::Own(swum),
        });
    };
    let written = WrittenPlace::parse(into).map_err(|wrong| Failure::Usage(format!("--into: {wrong}")))?;
    let mut script = args.script.as_ref().map(|script| LoggedScript::open(script, &args.packs, ui)).transpose()?;
    if script.is_none() {
        existing(&args.notebook, OpenFor::Reading)?;
    }
    let noted = whose(there.as_ref(), args, can_ask, ui)?;
    let (swimmer, day) = (noted.name.clone(), LocalTime::now().day);
    let last = there.as_ref().map_or(Ok(Vec::new()), |there| since(there, &swimmer, day))?.pop();
    let is_it = |script: &LoggedScript, kept: &LoggedPractice| {
        kept.script.as_ref().is_some_and(|copy| copy.text == script.text())
    };
    let (id, practice) = match (last, &mut script) {
        (Some((id, kept)), None) => (Some(id), kept),
        (Some((id, kept)), Some(script)) if is_it(script, &kept) => (Some(id), kept),
        (_, Some(script)) => (None, script.outline(&SheetSwimmer::of_notebook(noted), day, ui)?.0.practice),
        (None, None) => {
            return Err(Failure::Usage(format!(
                "of today no practice is in the notebook: keep it first (`lengthwise log SCRIPT`), name its script with --script, or \
                 leave --into out; the swimmer is {}",
                printable(&swimmer)
            )));
        }
    };
    let (set, repeat, first) =
        from_taps::place(&practice, written).map_err(|wrong| Failure::Usage(format!("--into: {wrong}")))?;
    let title = printable(&practice.title);
    ui.message(format!("into {title}, repeat {set}.{repeat}, from length {first} on\n"));
    let place = RepeatPlace { swim: (set, repeat), first };
    let into = match id {
        Some(id) => TapsInto::Kept(id, day, place),
        None => TapsInto::Planned(Box::new(practice), place),
    };
    Ok(NotesPlace { swimmer, pool, into })
}

/// What is swum, in somebody's words; nothing where they are those of plain crawl.
fn swum(words: &str) -> Result<Option<String>, Failure> {
    let words = words.trim();
    if !is_name(words) {
        return Err(Failure::Usage("--swum: 1 to 60 letters that can be seen, such as \"fist drill\"".into()));
    }
    Ok((!["crawl", "swim"].contains(&words.to_lowercase().as_str())).then(|| words.to_owned()))
}

/// The practices of a swimmer from a day on.
fn since(notebook: &Notebook, swimmer: &str, day: Day) -> Result<Vec<KeptPractice>, Failure> {
    let wanted = Wanted { swimmer: Some(swimmer.to_owned()), since: Some(day), last: None };
    notebook.practices(&wanted).map_err(failed)
}

/// Whose strokes they are: who is named, else the notebook's only swimmer, else who is asked for.
fn whose(there: Option<&Notebook>, args: &TapArgs, can_ask: bool, ui: &mut Ui) -> Result<NotedSwimmer, Failure> {
    let swimmers = there.map_or(Ok(Vec::new()), Notebook::swimmers).map_err(failed)?;
    log::whose(&swimmers, (args.swimmer.as_deref(), args.new_swimmer), can_ask, ui)
}

/// Keeps what was tapped.
pub fn keep(args: &TapArgs, place: NotesPlace, swim: &TappedSwim, ui: &mut Ui) -> Result<(), Failure> {
    let now = LocalTime::now();
    let first = match &place.into {
        TapsInto::Own(_) => 1,
        TapsInto::Kept(.., at) | TapsInto::Planned(_, at) => at.first,
    };
    let notes = TappedNotes::of(swim, first);
    for left_out in &notes.left_out {
        ui.message(format!("not kept: {left_out}\n"));
    }
    let nothing = |why: &from_taps::NoPlaceForTaps| Failure::Usage(format!("nothing was kept: {why}"));
    let values = notes.observations.len();
    let kept = match place.into {
        TapsInto::Kept(id, day, at) => {
            let mut notebook = open(&args.notebook, ui)?;
            // As it is now: somebody may have changed it meanwhile.
            let found = since(&notebook, &place.swimmer, day)?.into_iter().find(|(kept, _)| *kept == id);
            let gone = || Failure::World("nothing was kept: the practice has gone from the notebook".to_owned());
            let (id, mut practice) = found.ok_or_else(gone)?;
            let read = practice.clone();
            from_taps::enter(&mut practice, at.swim, &notes).map_err(|why| nothing(&why))?;
            let what = format!("tapped into {}, {}, {}", practice.title, practice.swimmer, practice.day);
            let done = notebook.replace(&now.note(), &what, (id, &read), &practice).map_err(failed)?;
            done.map_err(|ChangedMeanwhile| {
                Failure::World(
                    "nothing was kept: the practice was changed from elsewhere at this moment; try again".into(),
                )
            })?;
            format!("{values} values into repeat {}.{} of {}", at.swim.0, at.swim.1, printable(&practice.title))
        }
        TapsInto::Planned(mut practice, at) => {
            from_taps::enter(&mut practice, at.swim, &notes).map_err(|why| nothing(&why))?;
            practice.begun = Some(now.time);
            let (line, title) = (kept_line(&practice), printable(&practice.title).into_owned());
            open(&args.notebook, ui)?.add(&now.note(), &line, &[*practice]).map_err(failed)?;
            format!("{title}, and {values} values into repeat {}.{} of it", at.swim.0, at.swim.1)
        }
        TapsInto::Own(swum) => {
            let moment = (now.day, now.time);
            let practice = from_taps::practice(&notes, &place.swimmer, moment, place.pool, swum.as_deref());
            let practice = practice.map_err(|why| nothing(&why))?;
            open(&args.notebook, ui)?.add(&now.note(), &kept_line(&practice), &[practice]).map_err(failed)?;
            let swum = swum.map_or_else(
                || "plain crawl (--swum says what else it was)".to_owned(),
                |swum| format!("{}, which tells nothing of your crawl", printable(&swum)),
            );
            format!("{values} values of {} in {}, as {swum}", printable(&place.swimmer), place.pool)
        }
    };
    ui.message(format!("kept {kept}; `lengthwise log undo` takes it back\n"));
    Ok(())
}

/// What `log undo` says of a practice that was kept.
fn kept_line(practice: &LoggedPractice) -> String {
    format!("kept {}, {}, {}", printable(&practice.title), printable(&practice.swimmer), practice.day)
}
