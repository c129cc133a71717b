//! Which texts of a pack are meant: the same options for the list that is read aloud and for what is recorded, and the same order.

use super::args::WantedTexts;
use super::failure::Failure;
use super::ui::Ui;
use crate::authoring::prompts::{self, Choice, PromptsFound};
use crate::diag::nearest;
use crate::pack::shelf::{OpenedPack, Shelf};

/// What the options ask for.
pub(super) fn choice(args: &WantedTexts) -> Choice {
    match (args.only.as_slice(), args.scripts.as_slice()) {
        ([], []) if args.all => Choice::All,
        ([], []) => Choice::Used,
        ([], scripts) => Choice::For(scripts.to_vec()),
        (ids, _) => Choice::Only(ids.to_vec()),
    }
}

/// The texts that are meant, with what the options ask for; what is wrong with the pack or its scripts is said.
pub(super) fn find(
    pack: &OpenedPack,
    args: &WantedTexts,
    shelf: &Shelf,
    ui: &mut Ui,
) -> Result<(Choice, PromptsFound), Failure> {
    let choice = choice(args);
    let found = prompts::find(pack, &choice, args.again, shelf).map_err(|error| Failure::world(&error))?;
    ui.problems(&pack.problems, &pack.sources);
    ui.problems(&found.diagnostics, &found.sources);
    check(pack, &found)?;
    Ok((choice, found))
}

/// Whether every id that was asked for is one.
pub(super) fn check(pack: &OpenedPack, found: &PromptsFound) -> Result<(), Failure> {
    let Some(first) = found.unknown.first() else { return Ok(()) };
    let near = nearest(first, pack.lines.iter().map(|line| line.id.as_str()));
    let hint = near.map_or(String::new(), |near| format!("; did you mean `{near}`?"));
    Err(Failure::Usage(format!("no text of the pack has the id `{first}`{hint}")))
}

/// What is said where no text is left.
pub(super) const fn nothing(choice: &Choice) -> &'static str {
    match choice {
        Choice::Used => {
            "every text that the pack's scripts use has a recording; --all is for the others, --again for all once more\n"
        }
        Choice::For(_) => "every text that these scripts use has a recording; --again is for all of them once more\n",
        Choice::All | Choice::Only(_) => "every text of the pack has a recording; --again records them once more\n",
    }
}
