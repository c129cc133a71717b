//! From a whiteboard to a cue script that has gone the whole way once. Nothing is written to disk here.

use crate::diag::source::Span;
use crate::diag::{Code, Diagnostic, Severity, Sources, Spanned, has_errors};
use crate::pack::builtin;
use crate::pack::library::{Library, Role};
use crate::pack::load::{self, Search};
use crate::plan::Plan;
use crate::prepare::{PracticeRequest, Unreadable, plan_source};
use crate::whiteboard::board::Board;
use crate::whiteboard::context::{BoardContext, BoardWater, KnownName};
use crate::whiteboard::explain::{Understood, explain};
use crate::whiteboard::read;
use crate::whiteboard::write::{Heading, write};

/// The pack whose words every pack has.
const ANNOUNCER: &str = "announcer";

/// What to make a script of.
#[derive(Clone, Debug)]
pub struct BoardOrder<'t> {
    /// The board.
    pub text: &'t str,
    /// What messages call it.
    pub name: &'t str,
    /// Where it is swum.
    pub place: BoardWater,
    /// `title` of the script.
    pub title: &'t str,
    /// `pack` of the script; where not given, the first one in the program that has all names of the board.
    pub pack: Option<&'t str>,
}

/// What came of a board.
#[derive(Debug)]
pub struct BoardOutcome {
    /// The script, absent where nothing is left to swim. Entries that could not be read or swum are comments in it, and send-offs
    /// that the swimmer would miss have one.
    pub script: Option<String>,
    /// How many entries of the board are only comments in the script.
    pub left_out: usize,
    /// What was understood; empty where it was not.
    pub understood: Vec<Understood>,
    /// The pack of the script.
    pub pack: String,
    /// The numbers of the practice.
    pub plan: Option<Plan>,
    /// Every problem, at its place on the board.
    pub diagnostics: Vec<Diagnostic>,
    /// The texts that the problems point into.
    pub sources: Sources,
}

/// Understands a board, writes its script and plans it. `request` names the file that is to be and for whom.
///
/// # Errors
/// Where the swimmer's profile cannot be read.
pub fn make(wanted: &BoardOrder<'_>, request: &PracticeRequest) -> Result<BoardOutcome, Unreadable> {
    let mut sources = Sources::new();
    let board_id = sources.add(wanted.name, wanted.text);
    let search = Search {
        script: Some(request.script.clone()),
        extra: request.packs.clone(),
        user: request.user_packs.clone(),
        ..Search::default()
    };
    let (packs, diagnostics) = packs(wanted.pack, &search, &mut sources);
    let failed = |diagnostics, sources, understood| BoardOutcome {
        script: None,
        left_out: 0,
        understood,
        pack: String::new(),
        plan: None,
        diagnostics,
        sources,
    };
    if has_errors(&diagnostics) {
        return Ok(failed(diagnostics, sources, Vec::new()));
    }
    let known = known(&wanted.place, &packs);
    let (board, mut diagnostics) = read::read(board_id, &sources, &known);
    let Some(mut board) = board else { return Ok(failed(diagnostics, sources, Vec::new())) };
    let pack = choose(&packs, &board).to_owned();
    loop {
        let written = write(&board, &known, Heading { title: wanted.title, pack: &pack }, &sources);
        let script = sources.add(request.script.to_string_lossy().into_owned(), written.text.clone());
        let prepared = plan_source(script, search.clone(), request, sources)?;
        sources = prepared.sources;
        let found: Vec<_> = prepared.diagnostics.iter().map(|problem| written.back(problem.clone(), script)).collect();
        // What cannot be swum as written is left out, as what could not be read is.
        let wrong = found.iter().filter(|problem| problem.severity() == Severity::Error && !is_late(problem));
        let wrong: Vec<_> = wrong.filter(|problem| board.leave_out(problem)).cloned().collect();
        if !wrong.is_empty() && board.has_swims() {
            diagnostics.extend(wrong);
            continue;
        }
        let script_text = match &prepared.planned {
            Some(_) => Some(written.text.clone()),
            None if prepared
                .diagnostics
                .iter()
                .all(|problem| is_late(problem) || problem.severity() != Severity::Error) =>
            {
                Some(written.marked(&prepared.diagnostics, script))
            }
            None => None,
        };
        diagnostics.extend(found);
        // Two lines of the script can come from one word of the board.
        diagnostics.sort_by_key(|problem| problem.span);
        diagnostics.dedup();
        let understood = explain(&board, &wanted.place, &sources);
        let (left_out, plan) = (board.left_out(), prepared.planned.map(|planned| planned.plan));
        return Ok(BoardOutcome { script: script_text, left_out, understood, pack, plan, diagnostics, sources });
    }
}

/// A send-off that the swimmer would miss: another one would make it.
fn is_late(problem: &Diagnostic) -> bool {
    problem.code == Code::SendOffTooShort
}

/// The packs that a script could name, the preferred one first, and what was wrong with one asked for.
#[expect(clippy::expect_used, reason = "an argument of a command is far below 4 GiB")]
fn packs(wanted: Option<&str>, search: &Search, sources: &mut Sources) -> (Vec<(String, Library)>, Vec<Diagnostic>) {
    let Some(name) = wanted else {
        let others = builtin::packs().iter().filter(|pack| pack.name != ANNOUNCER);
        let open = |pack: &builtin::BuiltInPack| {
            let id = sources.add("--pack", pack.name);
            let name = Spanned::new(pack.name.to_owned(), Span::new(id, 0, 0));
            (pack.name.to_owned(), load::open(search, Some(&name), sources).0)
        };
        return (others.map(open).collect(), Vec::new());
    };
    let id = sources.add("--pack", name);
    let span = Span::new(id, 0, u32::try_from(name.len()).expect("an argument"));
    let (library, problems) = load::open(search, Some(&Spanned::new(name.to_owned(), span)), sources);
    (vec![(name.to_owned(), library)], problems)
}

/// Everything that some pack has a name for.
fn known(place: &BoardWater, packs: &[(String, Library)]) -> BoardContext {
    let names = |role: Role| {
        let mut names: Vec<KnownName> = Vec::new();
        for (id, entry) in packs.iter().flat_map(|(_, library)| library.of(role)) {
            if names.iter().all(|name| name.id != id) {
                let texts = std::iter::once(&entry.full).chain(&entry.short).map(|spoken| spoken.text.clone());
                // How to swim a drill is not a name for it.
                let texts = texts.filter(|_| role == Role::Phrase).collect();
                names.push(KnownName { id: id.to_owned(), texts });
            }
        }
        names
    };
    BoardContext { water: place.clone(), drills: names(Role::Drill), phrases: names(Role::Phrase) }
}

/// The first pack with everything that the board names; else the one with the most of it, and the plan will say what
/// it lacks.
fn choose<'p>(packs: &'p [(String, Library)], board: &Board) -> &'p str {
    let lacks = |(_, library): &&(String, Library)| {
        let drills = board.drills.iter().filter(|id| library.entry(Role::Drill, id).is_none());
        drills.count() + board.phrases.iter().filter(|id| library.entry(Role::Phrase, id).is_none()).count()
    };
    packs.iter().min_by_key(lacks).map_or("", |(name, _)| name)
}
