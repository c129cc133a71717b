//! A reading made of a pack's clips, with a reader's slips in it.

use super::super::answer::{ReadingAnswer, parse};
use super::super::heard::{AloudReading, ReadFile};
use super::*;
use crate::audio::clip::{self, Pcm};
use crate::pack::shelf::{HeardFrom, Shelf};
use crate::pack::speech::{self, Speech, text_times};

/// Texts of unlike lengths, as the pack has them, with their clips: which of two neighbours as long as each other is missing nothing
/// here could tell.
fn texts() -> Vec<(Prompt, Pcm)> {
    let pack = Shelf::default().open("first-lengths").unwrap();
    let stems = [
        "push-back.short",
        "no-hurry",
        "one-goggle.short",
        "last-part",
        "fist.short",
        "long-neck",
        "head-still.short",
        "roll-together",
    ];
    let text = |stem: &str| {
        let line = pack.lines.iter().find(|line| line.key().stem == stem).unwrap();
        let HeardFrom::Own(recording) = &line.source else { panic!("{stem} has no clip") };
        let pcm = clip::decode(&recording.read().unwrap()).unwrap();
        let (id, text) = (line.id.clone(), line.text.clone());
        (Prompt { role: line.role, id, short: line.short, text, recorded: false }, pcm)
    };
    stems.map(text).into()
}

/// A room's noise of this amplitude, the same each time.
fn noise(samples: usize, amplitude: f64) -> Vec<i16> {
    let mut seed = 7_u64;
    let mut next = || {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (((seed >> 33) as f64 / f64::from(1_u32 << 30) - 1.0) * amplitude) as i16
    };
    (0..samples).map(|_| next()).collect()
}

/// What is read in this order, with a pause after each; `None` is a cough.
fn take_of(texts: &[(Prompt, Pcm)], order: &[Option<usize>]) -> Pcm {
    let rate = texts[0].1.rate;
    let mut samples = noise(rate as usize, 30.0);
    for (at, read) in order.iter().enumerate() {
        match read {
            Some(text) => samples.extend(&texts[*text].1.samples),
            // A burst that dies away in 0.2 s.
            None => {
                let burst = noise(rate as usize / 5, 9_000.0);
                let len = burst.len() as f64;
                samples
                    .extend(burst.iter().enumerate().map(|(at, x)| (f64::from(*x) * (1.0 - at as f64 / len)) as i16));
            }
        }
        samples.extend(noise(rate as usize * (14 + at % 3 * 4) / 10, 30.0));
    }
    let room = noise(samples.len(), 25.0);
    Pcm { rate, samples: samples.iter().zip(room).map(|(a, b)| a.saturating_add(b)).collect() }
}

fn desk(texts: &[(Prompt, Pcm)], takes: Vec<Pcm>) -> ReadingDesk {
    let prompts: Vec<Prompt> = texts.iter().map(|(prompt, _)| prompt.clone()).collect();
    let speech = speech::AVAILABLE.then(|| Speech::new(None));
    let words: Vec<String> = prompts.iter().map(|prompt| prompt.text.clone()).collect();
    let times: Vec<_> = words.iter().cloned().zip(text_times(speech.as_ref(), &words)).collect();
    let times = TextTimes::new(move |text| times.iter().find(|(words, _)| words == text)?.1);
    let name = |(at, pcm): (usize, Pcm)| ReadFile { name: format!("take {at}.m4a"), pcm };
    ReadingDesk::new(AloudReading::of(takes.into_iter().enumerate().map(name).collect()), prompts, times)
}

/// Goes through it with these answers, then with `keep`; gives what was kept, each with its length in frames.
fn answered(desk: &mut ReadingDesk, answers: &[&str]) -> Vec<(usize, usize)> {
    let mut kept = Vec::new();
    let mut answers = answers.iter();
    while desk.question().is_some() {
        match desk.answer(&parse(answers.next().unwrap_or(&"")).unwrap()) {
            ReadingReply::Keep(text, heard) => {
                kept.push((text, heard.samples.len()));
                desk.kept();
            }
            ReadingReply::Next => {}
            other => panic!("{other:?}"),
        }
    }
    kept
}

/// Whether each is as long as the clip of its text, within a tenth and 0.1 s: it is cut anew, out of the noise.
fn assert_right(texts: &[(Prompt, Pcm)], kept: &[(usize, usize)]) {
    for (text, frames) in kept {
        let clip = &texts[*text].1;
        let apart = frames.abs_diff(clip.samples.len());
        assert!(apart < clip.samples.len() / 10 + clip.rate as usize / 10, "{}: {frames}", texts[*text].0.text);
    }
}

#[test]
fn a_reading_in_order_needs_nobody_and_slips_are_asked_about() {
    if !speech::AVAILABLE {
        eprintln!("skipped: lengths that only the built-in voice knows tell these texts apart");
        return;
    }
    let texts = texts();
    let all = [0, 1, 2, 3, 4, 5, 6, 7].map(Some);
    let mut whole = desk(&texts, vec![take_of(&texts, &all)]);
    assert_eq!((whole.found().texts, whole.found().others, whole.is_sure()), (8, 0, true), "{:?}", whole.found());
    let kept = answered(&mut whole, &[]);
    assert_eq!(kept.iter().map(|(text, _)| *text).collect::<Vec<_>>(), [0, 1, 2, 3, 4, 5, 6, 7]);
    assert_right(&texts, &kept);

    // A cough, one read twice, one left out.
    let slips = [Some(0), None, Some(0), Some(1), Some(2), Some(3), Some(4), Some(6), Some(7)];
    let mut read = desk(&texts, vec![take_of(&texts, &slips)]);
    let found = read.found().clone();
    assert_eq!((found.texts, found.again, found.swapped, found.left_out.as_slice()), (7, 1, 0, &[5][..]), "{found:?}");
    assert!(!read.is_sure() && found.others == 0 && found.set_aside == 1, "{found:?}");
    let kept = answered(&mut read, &["k", "before"]);
    assert_eq!(kept.iter().map(|(text, _)| *text).collect::<Vec<_>>(), [0, 1, 2, 3, 4, 6, 7]);
    assert_right(&texts, &kept);
    // Of the two readings the last one is kept where nobody says otherwise.
    let kept = answered(&mut desk(&texts, vec![take_of(&texts, &slips)]), &[]);
    assert_eq!(kept.iter().map(|(text, _)| *text).collect::<Vec<_>>(), [0, 0, 1, 2, 3, 4, 6, 7]);

    // Two the other way round.
    let mut read = desk(&texts, vec![take_of(&texts, &[0, 1, 2, 4, 3, 5, 6, 7].map(Some))]);
    assert_eq!((read.found().swapped, read.is_sure()), (2, false), "{:?}", read.found());
    let kept = answered(&mut read, &[]);
    assert_eq!(kept.iter().map(|(text, _)| *text).collect::<Vec<_>>(), [0, 1, 2, 4, 3, 5, 6, 7]);
    assert_right(&texts, &kept);
}

#[test]
fn another_text_moves_all_that_come_after_it() {
    if !speech::AVAILABLE {
        eprintln!("skipped: lengths that only the built-in voice knows tell these texts apart");
        return;
    }
    let texts = texts();
    let mut read = desk(&texts, vec![take_of(&texts, &[Some(4), Some(5)]), take_of(&texts, &[Some(6), Some(7)])]);
    assert!(!read.is_sure());
    let no = |read: &mut ReadingDesk, line: &str| match read.answer(&parse(line).unwrap()) {
        ReadingReply::No(why) => why,
        other => panic!("{other:?}"),
    };
    assert_eq!(no(&mut read, "other nonsense"), "no text of the list has the id `nonsense` or begins so");
    assert_eq!(no(&mut read, "back"), "this is the first piece");
    assert_eq!(no(&mut read, "before"), "there is no reading of this text before it");
    let first = texts[4].0.stem();
    let kept = answered(&mut read, &[&format!("other {first}")]);
    assert_eq!(kept.iter().map(|(text, _)| *text).collect::<Vec<_>>(), [4, 5, 6, 7]);
    assert_right(&texts, &kept);
}

#[test]
fn what_is_kept_is_not_asked_again() {
    let texts = texts();
    let take = take_of(&texts, &[0, 1, 2, 3, 4, 5, 6, 7].map(Some));
    let mut first = desk(&texts, vec![take.clone()]);
    let mut cut = Vec::new();
    for _ in 0..3 {
        let ReadingReply::Keep(_, heard) = first.answer(&ReadingAnswer::Keep) else { panic!("not kept") };
        cut.push(Pcm { rate: heard.rate, samples: heard.samples.iter().map(|x| (x * 32_768.0) as i16).collect() });
        first.kept();
    }
    first.answer(&ReadingAnswer::Stop);
    assert!(first.question().is_none() && first.kept_texts().count() == 3);
    let mut reading = AloudReading::of(vec![ReadFile { name: "take.m4a".to_owned(), pcm: take }]);
    let all = reading.new_sounds();
    assert_eq!(reading.without(cut.into_iter()), 3);
    assert!(reading.new_sounds() < all);
    let rest: Vec<Prompt> = texts.iter().skip(3).map(|(prompt, _)| prompt.clone()).collect();
    let desk = ReadingDesk::new(reading, rest, TextTimes::unknown());
    assert_eq!((desk.found().texts, desk.found().others, desk.found().set_aside), (5, 0, 0), "{:?}", desk.found());
}
