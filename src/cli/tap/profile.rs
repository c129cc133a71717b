//! `tap --profile`: the counted length into a swimmer's profile, once somebody has seen the line and said yes.

use super::super::args::TapArgs;
use super::super::ask::ask;
use super::super::failure::Failure;
use super::super::ui::Ui;
use crate::authoring::mend_profile::{CountedPoint, begin, mend};
use crate::diag::shown::ShownPath;
use crate::prepare::text;
use crate::script::quantity::swim;
use crate::sink::file::{Fresh, Replace};
use crate::tapping::TappedSwim;
use crate::units::swim::PoolLength;
use std::io::Write;
use std::path::Path;

/// Writes or mends the profile, as far as it is agreed to.
pub fn keep(args: &TapArgs, path: &Path, swim: &TappedSwim, can_ask: bool, ui: &mut Ui) -> Result<(), Failure> {
    let point = point(swim).map_err(|why| Failure::Usage(format!("{} stays as it is: {why}", path.shown())))?;
    let unfit = |why: &dyn std::fmt::Display| Failure::Usage(format!("{} stays as it is: {why}", path.shown()));
    let (text, replace) = if path.exists() {
        let old = text::read(path).map_err(|error| Failure::world(&error))?;
        let mended = mend(&old, point).map_err(|why| unfit(&why))?;
        ui.message(format!("in {}, from line {} on:\n", path.shown(), mended.line));
        for (sign, lines) in [('-', &mended.old), ('+', &mended.new)] {
            lines.iter().for_each(|line| ui.message(format!("  {sign} {line}\n")));
        }
        (mended.text, Replace::Yes)
    } else {
        let pool = pool(args)?;
        let made = begin(point, pool, args.swimmer.as_deref()).map_err(|why| unfit(&why))?;
        ui.message(format!("a new profile {} in a pool of {pool}:\n  + {point}\n", path.shown()));
        (made, Replace::Never)
    };
    let writes = args.yes || can_ask && agreed(ui);
    if !writes {
        let why = if can_ask { "" } else { ": --yes writes it" };
        ui.message(format!("{} stays as it is{why}\n", path.shown()));
        return if can_ask { Ok(()) } else { Err(Failure::Shown) };
    }
    let mut file = Fresh::create(path, replace).map_err(|error| Failure::world(&error))?;
    let written = file.write_all(text.as_bytes()).and_then(|()| file.flush());
    written.map_err(|error| Failure::World(format!("cannot write {}: {error}", path.shown())))?;
    file.commit_to_disk().map_err(|error| Failure::world(&error))?;
    ui.message(format!("wrote {}\n", path.shown()));
    Ok(())
}

/// The pool of the option, or the usual one.
pub fn pool(args: &TapArgs) -> Result<PoolLength, Failure> {
    swim::pool(args.pool.as_deref().unwrap_or("25 m")).map_err(|fault| {
        let hint = fault.hint.map_or_else(String::new, |hint| format!("; {hint}"));
        Failure::Usage(format!("--pool: {}{hint}", fault.message))
    })
}

fn agreed(ui: &mut Ui) -> bool {
    ask(ui, "Write it? y or n")
        .is_ok_and(|answer| answer.eq_ignore_ascii_case("y") || answer.eq_ignore_ascii_case("yes"))
}

/// The count and the tempo of what was tapped, as a profile has them.
fn point(swim: &TappedSwim) -> Result<CountedPoint, &'static str> {
    let tempo = swim.tempo().ok_or("no tempo: tap at least two strokes")?;
    let open = "no whole length has a count beyond doubt: answer the question of the count, or give --counts";
    let count = swim.count().ok_or(open)?.round();
    if !(4.0..=200.0).contains(&count) || !(0.4..=2.5).contains(&tempo) {
        return Err("a profile has 4 to 200 strokes at 0.40 to 2.50 s");
    }
    Ok(CountedPoint { count: count as u32, centis: (tempo * 100.0).round() as u32 })
}
