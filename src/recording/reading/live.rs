//! The pass through a reading as it happens: each piece is told, played where there is an output, and stored where it is kept.

use super::answer::ReadingAnswer;
use super::desk::{PieceDoubt, ReadingDesk, ReadingReply};
use crate::device::Wish;
use crate::diag::shown::ShownPath;
use crate::recording::aloud::Aloud;
use crate::recording::store::Store;

/// What is asked of each piece.
const ASKED: &str = "keep (Enter), other TEXT, skip, before, play, back or quit?";

/// What a reading's pass runs on.
pub struct ReadingSetup<'a> {
    /// Where takes are kept.
    pub store: Store,
    /// Through which output pieces are played, if they are.
    pub playback: Option<Wish>,
    /// Keeps everything unasked where nothing is in doubt.
    pub unasked: bool,
    /// What the person says next, or why that is no answer; nothing when nobody is left to say anything.
    pub next: &'a mut dyn FnMut() -> Option<Result<ReadingAnswer, String>>,
}

/// Goes through a reading until every piece is decided on, somebody ends it, or nobody is left to answer. `tell` hears what happens, a
/// line each.
pub fn go_through(desk: &mut ReadingDesk, setup: ReadingSetup<'_>, tell: &mut dyn FnMut(&str)) {
    let ReadingSetup { store, playback, unasked, next } = setup;
    let unasked = unasked && desk.is_sure();
    let mut aloud = playback.filter(|_| !unasked).map(Aloud::through);
    let mut asked = false;
    while let Some(question) = desk.question().cloned() {
        let take = desk.take(&question);
        tell(&described(desk));
        for doubt in question.doubts.iter().map(words) {
            tell(&format!("in doubt: {doubt}"));
        }
        for fault in &take.faults {
            tell(&format!("fault: {fault}"));
        }
        let mut play = |tell: &mut dyn FnMut(&str)| {
            let played = aloud.as_mut().map_or(Ok(()), |aloud| aloud.play(&take.samples, take.rate));
            if let Err(why) = played {
                tell(&format!("cannot be played: {why}"));
                aloud = None;
            }
        };
        if !unasked {
            play(tell);
            tell(if std::mem::replace(&mut asked, true) { "keep?" } else { ASKED });
        }
        loop {
            let answer = match if unasked { Some(Ok(ReadingAnswer::Keep)) } else { next() } {
                Some(Ok(answer)) => answer,
                Some(Err(why)) => {
                    tell(&why);
                    continue;
                }
                None => ReadingAnswer::Stop,
            };
            match desk.answer(&answer) {
                ReadingReply::Next => break,
                ReadingReply::Play => play(tell),
                ReadingReply::No(why) => tell(&why),
                ReadingReply::Keep(text, heard) => {
                    let Some(prompt) = desk.prompts().get(text) else { break };
                    match store.keep(prompt, &heard) {
                        Ok(path) => {
                            tell(&format!("kept: {}", path.shown()));
                            desk.kept();
                        }
                        Err(error) => {
                            tell(&format!("not kept: {error}"));
                            if unasked {
                                return;
                            }
                            continue;
                        }
                    }
                    break;
                }
            }
        }
        if let Some(aloud) = &mut aloud {
            aloud.stop();
        }
    }
}

/// A piece in a line: which of how many, where it is, how long, and the text that it is taken for.
fn described(desk: &ReadingDesk) -> String {
    let Some(question) = desk.question() else { return String::new() };
    let (past, coming) = desk.progress();
    let (name, from) = desk.reading().place(&question.sounds);
    let lasts = desk.take(question).take.spoken().map_or(0.0, |spoken| spoken.as_f64());
    let place = format!("{}:{:04.1}", (from / 60.0) as u32, from % 60.0);
    let place = if desk.reading().files() > 1 { format!("{name} {place}") } else { place };
    let text = question.text.and_then(|text| desk.prompts().get(text)).map_or_else(
        || "no text of the list".to_owned(),
        |prompt| format!("{}/{}: {}", prompt.role.folder(), prompt.stem(), prompt.text),
    );
    format!("{} of {}: {place}, {lasts:.1} s: {text}", past + 1, past + coming)
}

/// A doubt in words.
fn words(doubt: &PieceDoubt) -> String {
    match doubt {
        PieceDoubt::Again(nth, all) => format!("read {all} times, this is number {nth}; the last that is kept stays"),
        PieceDoubt::Swapped => "read in the place of its neighbour in the list".to_owned(),
        PieceDoubt::Beside => "by its length it may be the text before or after".to_owned(),
        PieceDoubt::NoText => "it lies between the texts of the list and fits none".to_owned(),
    }
}
