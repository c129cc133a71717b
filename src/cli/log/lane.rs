//! The record of a lane's session: each of its swimmers takes what is theirs.

use super::planned;
use super::session::SessionRead;
use super::who;
use crate::cli::args::Keep;
use crate::cli::failure::Failure;
use crate::cli::notebook::{failed, known_from};
use crate::cli::ui::Ui;
use crate::diag::shown::{ShownPath, printable};
use crate::diag::{Diagnostic, Severity, Sources};
use crate::lane::{Lane, LaneSwimmer};
use crate::notebook::Notebook;
use crate::notebook::entry::{ScriptCopy, is_same_name};
use crate::notebook::from_record::{LaneSeat, take_over};
use crate::notebook::outline::Outline;
use crate::prepare::PracticeRequest;
use crate::prepare::swum::{OtherLane, SwumLane, swum};
use crate::session::record::HeadLane;
use crate::units::calendar::Day;
use std::path::PathBuf;

/// What a lane's record comes to.
pub(super) struct LaneTaken {
    /// Of each who swam and is not kept yet, in the order of leaving.
    pub(super) outlines: Vec<Outline>,
    /// Who was kept before.
    pub(super) before: Vec<String>,
    /// Who sat out from the first start to the last.
    pub(super) sat_out: Vec<String>,
    /// Who is new in a notebook that knows others.
    pub(super) new: Vec<String>,
}

/// Why a script is not the one.
enum NotThis {
    Why(Failure),
    Problems(Vec<Diagnostic>, Sources),
}

/// Takes over what a record says of the swimmers of its lane, or of the one that is asked for.
pub(super) fn take(
    (session, head): (&SessionRead, &HeadLane),
    args: &Keep,
    (there, day): (Option<&Notebook>, Option<Day>),
    ui: &mut Ui,
) -> Result<LaneTaken, Failure> {
    let path = session.path.shown();
    let whom = args.swimmer.as_deref().map(str::trim);
    let asked: Vec<&String> =
        head.swimmers.iter().filter(|name| whom.is_none_or(|whom| is_same_name(name, whom))).collect();
    if asked.is_empty() {
        let names = printable(&head.swimmers.join(", ")).into_owned();
        let whom = printable(whom.unwrap_or_default());
        return Err(Failure::Usage(format!("{whom} is not in the lane of {path}: --swimmer names one of {names}")));
    }
    let known = there.map_or(Ok(Vec::new()), Notebook::swimmers).map_err(failed)?;
    who::no_slips(asked.iter().map(|name| name.as_str()), &known, args.new_swimmer)?;
    let noted = |name: &str| known.iter().find(|noted| noted.is_called(name)).map(|noted| noted.name.clone());
    let mut taken = LaneTaken { outlines: Vec::new(), before: Vec::new(), sat_out: Vec::new(), new: Vec::new() };
    let mut names: Vec<(u32, String)> = Vec::new();
    for (number, name) in (1..).zip(&head.swimmers).filter(|(_, name)| asked.contains(name)) {
        let noted_as = match noted(name) {
            Some(known) => known,
            None => who::named(name)?,
        };
        let is_kept = there.map(|there| there.has_record(&noted_as, &session.sha256)).transpose().map_err(failed)?;
        let list = match (is_kept, LaneSeat { number, ..LaneSeat::default() }.took_part(&session.lines)) {
            (Some(true), _) => &mut taken.before,
            (_, false) => &mut taken.sat_out,
            (_, true) => {
                taken.new.extend((!known.is_empty() && noted(name).is_none()).then(|| noted_as.clone()));
                names.push((number, noted_as));
                continue;
            }
        };
        list.push(noted_as);
    }
    if names.is_empty() {
        return Err(Failure::Usage(match taken.before.as_slice() {
            [] if session.lines.iter().any(LaneSeat::leaves) => {
                format!("{} sat out the whole session of {path}: there is nothing to keep", taken.sat_out.join(", "))
            }
            [] => format!("{path} ended before anybody left: there is nothing to keep"),
            before => {
                let before = printable(&before.join(", ")).into_owned();
                format!("{path} was kept for {before} before: `lengthwise log list` shows it")
            }
        }));
    }
    taken.outlines = planned((session, head), args, &names, (there, day), ui)?;
    Ok(taken)
}

/// What each of `names` swam, planned by the script that is given or found.
fn planned(
    (session, head): (&SessionRead, &HeadLane),
    args: &Keep,
    names: &[(u32, String)],
    (there, day): (Option<&Notebook>, Option<Day>),
    ui: &mut Ui,
) -> Result<Vec<Outline>, Failure> {
    let started = session.started()?;
    let mut first: Option<NotThis> = None;
    for (script, kept) in scripts(session, args, there)? {
        let request = planned::request(&script, &args.packs);
        let request = PracticeRequest { known: known_from(&args.notebook), ..request };
        let planned = match swum(&request, kept.as_ref(), args.lane.as_deref(), head) {
            Ok(planned) => planned,
            Err(error) => {
                first = first.or(Some(NotThis::Why(Failure::world(&error))));
                continue;
            }
        };
        if args.script.is_none() && planned.identity != session.head.script {
            continue;
        }
        let copy = kept.unwrap_or_else(|| ScriptCopy { name: planned::name(&script), text: planned.text.clone() });
        let SwumLane { lane, diagnostics, sources, .. } = planned;
        let why = match lane {
            Ok(lane) => match each(session, &lane, names, &copy, day.unwrap_or(started.day)) {
                Ok(mut outlines) => {
                    for outline in &mut outlines {
                        outline.practice.begun = Some(started.time);
                        outline.practice.record = Some(session.sha256.clone());
                    }
                    return Ok(outlines);
                }
                Err(why) => NotThis::Why(Failure::Usage(why)),
            },
            Err(OtherLane::Broken) => NotThis::Problems(diagnostics, sources),
            Err(other) => NotThis::Why(Failure::Usage(not_theirs(session, head, &copy, &other))),
        };
        first = first.or(Some(why));
    }
    match first {
        None => Err(session.no_script()),
        Some(NotThis::Why(why)) => Err(why),
        Some(NotThis::Problems(mut problems, sources)) => {
            problems.retain(|problem| problem.severity() == Severity::Error);
            ui.problems(&problems, &sources);
            Err(Failure::Shown)
        }
    }
}

/// The scripts that the record may be of: the one that is given, else those that have its name, here and in the notebook.
fn scripts(
    session: &SessionRead,
    args: &Keep,
    there: Option<&Notebook>,
) -> Result<Vec<(PathBuf, Option<ScriptCopy>)>, Failure> {
    if let Some(script) = &args.script {
        return Ok(vec![(script.clone(), None)]);
    }
    let mut scripts: Vec<_> = session.candidates(&args.packs).into_iter().map(|path| (path, None)).collect();
    let kept = session.kept(there)?;
    scripts.extend(kept.into_iter().map(|copy| (PathBuf::from(&copy.name), Some(copy))));
    Ok(scripts)
}

/// What the record says of each.
fn each(
    session: &SessionRead,
    lane: &Lane,
    names: &[(u32, String)],
    copy: &ScriptCopy,
    day: Day,
) -> Result<Vec<Outline>, String> {
    let one = |(number, name): &(u32, String)| {
        let who: &LaneSwimmer = lane.swimmers.iter().find(|who| who.number == *number)?;
        let outline = Outline::of(&who.practice, copy.clone(), name, day);
        Some(take_over(outline, &session.lines, Some(LaneSeat::of(*number, &who.practice))).map_err(|why| {
            let (path, name) = (session.path.shown(), printable(name));
            format!(
                "{path} is of another practice or lane: {name}: {why}; name the script as it was with --script, \
                 and the lane as it was with --lane"
            )
        }))
    };
    names.iter().filter_map(one).collect()
}

/// Why a script's lane is not the record's, and what to do.
fn not_theirs(session: &SessionRead, head: &HeadLane, script: &ScriptCopy, why: &OtherLane) -> String {
    let (path, lane, names) = (session.path.shown(), printable(&head.name), head.swimmers.join(", "));
    let (names, script, why) = (printable(&names), printable(&script.name), why.to_string());
    let why = printable(&why);
    format!("{path} is of lane {lane} ({names}), and of {script}: {why}; name the roster as it was with --lane")
}
