//! Practices from elsewhere: those that are there already are not doubled, and what differs is not overwritten unasked.

use super::entry::{LoggedPractice, ScriptCopy, is_same_name};
use super::exchange::read::Exchanged;
use super::fault::NotebookFault;
use super::history::{self, KeptPractice};
use super::pair::{self, KeptComparison, PhrasePair};
use super::put::{self, PracticeId};
use super::store::Notebook;

/// What came of an import.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct ImportDone {
    /// New practices.
    pub added: usize,
    /// Practices that took the place of others.
    pub replaced: usize,
    /// Practices that were there already, the same in everything.
    pub same: usize,
    /// Profiles that are new, or took the place of others.
    pub profiles: usize,
    /// Comparisons of phrases likewise.
    pub comparisons: usize,
}

/// Something that is there already and is another: in words for a message.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotedOtherwise(pub Vec<String>);

impl Notebook {
    /// Takes in practices and swimmers, all or nothing, as one change. A practice is there already if it is the same in
    /// everything. One of the same swimmer, day, time and title that is not the same takes the place of the one that is there
    /// only with `replace`; the same goes for profiles.
    ///
    /// # Errors
    /// Where the disk refuses, or a session record was taken over before; what differs is the inner error.
    pub fn import(
        &mut self,
        moment: &str,
        what: &str,
        from: &Exchanged,
        replace: bool,
    ) -> Result<Result<ImportDone, NotedOtherwise>, NotebookFault> {
        self.change_if(moment, what, |change| {
            let mut there = history::all(change)?;
            let mut differing = Vec::new();
            let mut done = ImportDone::default();
            let known = history::swimmers(change)?;
            for swimmer in &from.swimmers {
                let old = known.iter().find(|known| known.is_called(&swimmer.name));
                let is_news = match (old.and_then(|old| old.profile.as_ref()), &swimmer.profile) {
                    (Some(old), Some(new)) if old != new => {
                        if !replace {
                            differing.push(format!("the profile of {}", swimmer.name));
                        }
                        true
                    }
                    (None, Some(_)) => true,
                    _ => false,
                };
                if is_news || old.is_none() {
                    put::swimmer(change, swimmer, is_news)?;
                }
                done.profiles += usize::from(is_news);
            }
            let compared = pair::all(change)?;
            for new in &from.compared {
                let of = |old: &&KeptComparison| is_same_name(&old.swimmer, &new.swimmer);
                let same = |old: &KeptComparison| old.pair == new.pair && old.ended == new.ended;
                if compared.iter().filter(of).any(same) {
                    continue;
                }
                let changed = compared
                    .iter()
                    .filter(of)
                    .any(|old| old.pair == new.pair || old.ended.is_none() && new.ended.is_none());
                if changed && !replace {
                    let PhrasePair { first, second, .. } = &new.pair;
                    differing.push(format!("what {} compares ({first} and {second})", new.swimmer));
                    continue;
                }
                let swimmer = put::swimmer_id(change, &new.swimmer)?;
                pair::give_way(change, swimmer, new)?;
                pair::write(change, swimmer, new)?;
                done.comparisons += 1;
            }
            for practice in &from.practices {
                match place(&mut there, practice) {
                    ImportPlace::Same => done.same += 1,
                    ImportPlace::Free => {
                        put::write(change, None, practice)?;
                        done.added += 1;
                    }
                    ImportPlace::Taken(id) if replace => {
                        put::remove(change, id)?;
                        put::write(change, Some(id), practice)?;
                        done.replaced += 1;
                    }
                    ImportPlace::Taken(id) => {
                        let LoggedPractice { title, swimmer, day, .. } = practice;
                        differing.push(format!("practice {}: {title}, {swimmer}, {day}", id.number()));
                    }
                }
            }
            Ok(if differing.is_empty() { Ok(done) } else { Err(NotedOtherwise(differing)) })
        })
    }
}

/// Where a practice goes.
enum ImportPlace {
    /// It is there.
    Same,
    /// Nothing like it is there.
    Free,
    /// Another stands for it.
    Taken(PracticeId),
}

/// Finds the place of a practice, and takes what it found out of `there`: of two alike each has one of its own.
fn place(there: &mut Vec<KeptPractice>, practice: &LoggedPractice) -> ImportPlace {
    if let Some(same) = there.iter().position(|(_, old)| is_same(old, practice)) {
        there.swap_remove(same);
        return ImportPlace::Same;
    }
    match there.iter().position(|(_, old)| is_of(old, practice)) {
        Some(taken) => ImportPlace::Taken(there.swap_remove(taken).0),
        None => ImportPlace::Free,
    }
}

/// The same in everything, but for how the name is written.
fn is_same(old: &LoggedPractice, new: &LoggedPractice) -> bool {
    is_of(old, new) && *old == LoggedPractice { swimmer: old.swimmer.clone(), script: script(old, new), ..new.clone() }
}

/// A text is kept once, under the name that it came with first.
fn script(old: &LoggedPractice, new: &LoggedPractice) -> Option<ScriptCopy> {
    match (&old.script, &new.script) {
        (Some(old), Some(new)) if old.text == new.text => Some(old.clone()),
        (_, new) => new.clone(),
    }
}

/// Of the same swimmer, day, time and title.
fn is_of(old: &LoggedPractice, new: &LoggedPractice) -> bool {
    // What is cheap goes first: each practice is held against all.
    (old.day, old.begun, &old.title) == (new.day, new.begun, &new.title) && is_same_name(&old.swimmer, &new.swimmer)
}
