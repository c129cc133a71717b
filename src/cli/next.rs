//! `next`: the next practice as a script, from the notebook. What it is to be, `next` of the library decides.

mod json;

use super::args::Next;
use super::failure::Failure;
use super::leftovers::sweep;
use super::log::whose;
use super::new::{save, script_name};
use super::notebook::{existing, failed, find};
use super::today::LocalTime;
use super::ui::{self, Ui};
use crate::cli::request::user_packs;
use crate::diag::shown::{Shown, ShownPath};
use crate::diag::{Sources, Span, Spanned, has_errors};
use crate::next::compose::next_practice;
use crate::next::order::{NextOrder, NextPractice, NoNext, around, last_pack, usual_pack};
use crate::next::reason::{self, cautions};
use crate::next::verdict::JudgedPair;
use crate::notebook::entry::{LoggedPractice, NotedSwimmer};
use crate::notebook::known::{breaking, of_practices, strokes_before};
use crate::notebook::{Notebook, OpenFor, PhrasePair, Wanted};
use crate::pack::library::{Library, Role};
use crate::pack::load::{self, Search};
use crate::script::quantity::swim;
use crate::sink::file::Replace;
use crate::swimmer::model::StrokeModel;
use crate::units::calendar::Day;
use crate::units::swim::PoolLength;

/// What there is for open water.
const OPEN_WATER: &str = "For open water take a script such as open-water/quick-then-settle, or one of your own; what is logged of it counts towards \
                          distance, load and breaths";

/// Runs the command.
pub fn run(args: &Next, ui: &mut Ui) -> Result<(), Failure> {
    if let Some(file) = &args.output {
        script_name(file, args.force)?;
    }
    let now = LocalTime::now();
    let today = day(args, now)?;
    let notebook = notebook(args)?;
    let (noted, practices) = match &notebook {
        Some(notebook) => {
            let noted = {
                // Writing a script makes nobody known: a slip costs nothing here.
                whose(&notebook.swimmers().map_err(failed)?, (args.swimmer.as_deref(), true), false, ui)?
            };
            let practices = before(notebook, &noted, today)?;
            (noted, practices)
        }
        None => (
            NotedSwimmer { name: args.swimmer.clone().unwrap_or_else(|| "a new swimmer".into()), profile: None },
            Vec::new(),
        ),
    };
    let pool = pool(args, &practices, ui)?;
    let swimmer = of_practices(&noted, &practices, pool, today);
    let breaking = breaking(&noted, &practices, pool, today);
    let (pack, library) = pack(args, &practices, || usual_pack(&swimmer, pool), ui)?;
    let compared = compare(args, notebook, &noted, (now, today), (&pack, &library), ui)?;
    let compared = compared.map(|pair| JudgedPair::of(&pair, &practices, &strokes_before(&noted)));
    if around(&library).is_empty() {
        ui.message(format!("the pack {pack} says of no drill which phrase it is `for`: the practice has no focus\n"));
    }
    let speech = ui::speech();
    let order = NextOrder {
        name: &noted.name,
        swimmer: &swimmer,
        breaking: breaking.as_ref(),
        practices: &practices,
        today,
        minutes: args.minutes,
        pool,
        pack: &pack,
        library: &library,
        speech: speech.as_ref(),
        compared: compared.as_ref(),
        any_load: args.any_load,
    };
    let next = next_practice(&order).map_err(|why| match why {
        NoNext::TooShort(..) => Failure::Usage(why.to_string()),
        NoNext::Load { .. } | NoNext::Alarm(_) | NoNext::Unplanned(_) => {
            ui.error(&why.to_string());
            Failure::Shown
        }
    })?;
    tell(&next, noted.profile.is_some(), ui);
    if let Some(file) = &args.output {
        sweep(file, ui)?;
        save(file, &next.script, if args.force { Replace::Yes } else { Replace::Never })?;
        ui.message(format!("wrote {}\n", file.shown()));
    }
    if args.json {
        return Ok(ui.result(Shown::json(&json::of(&next, &order, args.output.as_deref())))?);
    }
    if args.output.is_none() {
        ui.result(&next.script)?;
    }
    Ok(())
}

/// Why it is what it is, for whoever reads no comments.
fn tell(next: &NextPractice, has_profile: bool, ui: &mut Ui) {
    ui.message(format!("{}\n", next.reason));
    let shape = reason::shape(&next.choices);
    for more in shape.iter().chain(&reason::verdict(&next.choices)).chain(&cautions(&next.choices)).chain(&next.shorter)
    {
        ui.message(format!("{more}\n"));
    }
    if next.choices.away.is_none() {
        next.plan.assumptions.iter().for_each(|assumed| ui.message(format!("assumed: {assumed}\n")));
    }
    if !has_profile && next.choices.away.is_none() {
        ui.message("to have it fit: `lengthwise new ida.yaml --profile`, then `lengthwise log swimmer Ida --profile ida.yaml`\n");
    }
    ui.problems(&next.problems, &next.sources);
}

fn day(args: &Next, now: LocalTime) -> Result<Day, Failure> {
    match args.day.as_deref().map(str::trim) {
        None | Some("today") => Ok(now.day),
        Some("tomorrow") => Ok(now.day.plus_days(1).unwrap_or(now.day)),
        Some(day) => Day::parse(day)
            .ok_or_else(|| Failure::Usage(format!("--day: `{day}` is no day; write 2026-11-30, or `tomorrow`"))),
    }
}

/// The notebook, where there is one: a first practice needs none.
fn notebook(args: &Next) -> Result<Option<Notebook>, Failure> {
    match args.compare {
        Some(_) => existing(&args.notebook, OpenFor::Writing).map(Some),
        None => Notebook::open_existing(&find(&args.notebook)?, OpenFor::Reading).map_err(failed),
    }
}

/// The swimmer's practices up to a day.
fn before(notebook: &Notebook, noted: &NotedSwimmer, today: Day) -> Result<Vec<LoggedPractice>, Failure> {
    let wanted = Wanted { swimmer: Some(noted.name.clone()), ..Wanted::default() };
    let kept = notebook.practices(&wanted).map_err(failed)?;
    Ok(kept.into_iter().map(|(_, practice)| practice).filter(|practice| practice.day <= today).collect())
}

fn pool(args: &Next, practices: &[LoggedPractice], ui: &mut Ui) -> Result<PoolLength, Failure> {
    let open = |pool: &str| pool.trim().replace('-', " ").eq_ignore_ascii_case("open water");
    let Some(written) = &args.pool else {
        let pool = practices.iter().rev().find_map(|practice| swim::pool(&practice.pool).ok());
        let pool = pool.unwrap_or_else(StrokeModel::assumed_pool);
        if practices.last().is_some_and(|last| open(&last.pool)) {
            ui.message(format!(
                "the last practice was in open water; this one is for a pool of {pool}. {OPEN_WATER}\n"
            ));
        }
        return Ok(pool);
    };
    if open(written) {
        return Err(Failure::Usage(format!(
            "--pool: a next practice is for a pool, where lengths are counted. {OPEN_WATER}"
        )));
    }
    swim::pool(written).map_err(|fault| {
        let hint = fault.hint.map_or_else(String::new, |hint| format!("; {hint}"));
        Failure::Usage(format!("--pool: {}{hint}", fault.message))
    })
}

/// The pack and what it offers: the one that is asked for, that of the last practice, or one that suits.
fn pack(
    args: &Next,
    practices: &[LoggedPractice],
    usual: impl FnOnce() -> &'static str,
    ui: &mut Ui,
) -> Result<(String, Library), Failure> {
    let search = Search { extra: args.packs.clone(), user: user_packs(), ..Search::default() };
    let open = |name: &str| {
        let mut sources = Sources::new();
        let source = sources.add("--pack", name);
        let span = Span::new(source, 0, u32::try_from(name.len()).unwrap_or(0));
        let (library, problems) = load::open(&search, Some(&Spanned::new(name.to_owned(), span)), &mut sources);
        (library, problems, sources)
    };
    if let Some(last) = last_pack(practices).filter(|_| args.pack.is_none()) {
        let (library, problems, _) = open(&last);
        if !has_errors(&problems) {
            return Ok((last, library));
        }
        ui.message(format!("the pack {last} of the last practice is not found; --packs names its folder\n"));
    }
    let name = args.pack.clone().unwrap_or_else(|| usual().to_owned());
    let (library, problems, sources) = open(&name);
    ui.problems(&problems, &sources);
    if has_errors(&problems) { Err(Failure::Shown) } else { Ok((name, library)) }
}

/// The phrases that are compared, and those that are to be from now on.
fn compare(
    args: &Next,
    notebook: Option<Notebook>,
    noted: &NotedSwimmer,
    (now, today): (LocalTime, Day),
    (pack, library): (&str, &Library),
    ui: &mut Ui,
) -> Result<Option<PhrasePair>, Failure> {
    let Some(mut notebook) = notebook else { return Ok(None) };
    let Some(written) = args.compare.as_deref() else { return notebook.compared(&noted.name).map_err(failed) };
    let pair = match written.split_once(',').map(|(first, second)| (first.trim(), second.trim())) {
        None if written.trim() == "none" => None,
        Some((first, second)) if first != second => Some((first, second)),
        _ => return Err(Failure::Usage("--compare takes two phrases, `reach-forward,long-neck`, or `none`".into())),
    };
    let unknown = |id: &&str| library.entry(Role::Phrase, id).is_none();
    if let Some(id) = pair.and_then(|(first, second)| [first, second].into_iter().find(unknown)) {
        let why = format!(
            "--compare: there is no phrase `{id}` in the pack {pack}; `lengthwise pack show {pack}` lists them"
        );
        return Err(Failure::Usage(why));
    }
    if !notebook.swimmers().map_err(failed)?.iter().any(|known| known.is_called(&noted.name)) {
        return Err(Failure::Usage(format!(
            "--compare: {} is not in the notebook yet; log a practice first",
            noted.name
        )));
    }
    notebook.compare(&now.note(), &noted.name, today, pair).map_err(failed)?;
    ui.message(match pair {
        Some((first, second)) => format!("{first} and {second} take turns from now on; --compare none ends it\n"),
        None => "nothing is compared any more\n".to_owned(),
    });
    notebook.compared(&noted.name).map_err(failed)
}
