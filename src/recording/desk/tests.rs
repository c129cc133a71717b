use super::*;
use crate::audio::clip;
use crate::audio::take::TextTime;
use crate::pack::role::Role;
use crate::units::time::Seconds;

const RATE: u32 = 24_000;

fn prompts(count: usize) -> Vec<Prompt> {
    let prompt = |number: usize| Prompt {
        role: Role::Phrase,
        id: format!("phrase-{number}"),
        short: false,
        text: "breathe out in the water".to_owned(),
        recorded: false,
    };
    (0..count).map(prompt).collect()
}

fn desk(count: usize) -> TakeDesk {
    let mut desk =
        TakeDesk::new(prompts(count), TextTimes::new(|text| Some(TextTime::said(text, Seconds::from_millis(1_300)))));
    desk.listen_at(RATE);
    desk
}

/// Noise of a quiet room at about −66 dBFS.
fn room(frames: usize) -> Vec<f32> {
    let mut seed = 1_u32;
    let next = |_| {
        seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        ((seed >> 8) as f32 / (1 << 23) as f32 - 1.0) * 0.0009
    };
    (0..frames).map(next).collect()
}

/// A clip of the shipped packs, as loud as it lies there, in the quiet room.
fn spoken() -> Vec<f32> {
    let bytes = include_bytes!("../../../cue-packs/first-lengths/clips/phrases/breathe-out.ogg");
    let pcm = clip::decode(bytes).unwrap();
    assert_eq!(pcm.rate, RATE);
    let mut heard = room(pcm.samples.len());
    for (sample, spoken) in heard.iter_mut().zip(&pcm.samples) {
        *sample += f32::from(*spoken) / 32_768.0;
    }
    heard
}

/// As long as the clip, whose own ends die away below the noise of the room.
fn is_whole(heard: &FinishedTake) -> bool {
    (0..RATE as usize / 10).contains(&spoken().len().saturating_sub(heard.samples.len()))
}

/// Gives samples in parts of a size that fits nothing.
fn hear(desk: &mut TakeDesk, samples: &[f32]) -> Vec<DeskEvent> {
    samples.chunks(311).flat_map(|part| desk.hear(part)).collect()
}

/// Through the count-in.
fn count_in(desk: &mut TakeDesk) {
    let events = hear(desk, &room(RATE as usize * 21 / 10 + 311));
    assert_eq!(events, [DeskEvent::Count(3), DeskEvent::Count(2), DeskEvent::Count(1), DeskEvent::Now]);
}

/// To a decision on a good take.
fn take(desk: &mut TakeDesk) -> FinishedTake {
    count_in(desk);
    let all = [room(RATE as usize / 2), spoken(), room(RATE as usize * 3 / 2)].concat();
    assert_eq!(hear(desk, &all), [DeskEvent::Taken]);
    let Step::Decision(heard) = desk.step() else { panic!("{:?}", desk.step()) };
    (**heard).clone()
}

#[test]
fn a_text_goes_from_its_prompt_to_the_next() {
    let mut desk = desk(2);
    assert_eq!(hear(&mut desk, &spoken()), [], "nobody has begun");
    assert_eq!(desk.answer(Answer::Begin), Reply::Done(vec![]));
    let heard = take(&mut desk);
    assert!(heard.faults.is_empty(), "{:?}", heard.faults);
    assert!(is_whole(&heard));
    assert_eq!(desk.answer(Answer::Play), Reply::Play);
    assert_eq!(desk.answer(Answer::Keep), Reply::Keep);
    assert_eq!(desk.kept(), [DeskEvent::Prompt]);
    assert_eq!(desk.fates(), [Fate::Kept(vec![]), Fate::Open]);
    // It counts in by itself.
    take(&mut desk);
    assert_eq!(desk.answer(Answer::Keep), Reply::Keep);
    assert_eq!(desk.kept(), [DeskEvent::Over]);
}

#[test]
fn an_early_word_is_not_cut_off() {
    let mut desk = desk(1);
    desk.answer(Answer::Begin);
    let early = RATE as usize * 21 / 10 - RATE as usize * 3 / 10;
    let all = [room(early), spoken(), room(RATE as usize * 3 / 2)].concat();
    let events = hear(&mut desk, &all);
    assert_eq!(events.last(), Some(&DeskEvent::Taken));
    let Step::Decision(heard) = desk.step() else { panic!("{:?}", desk.step()) };
    assert!(heard.faults.is_empty() && is_whole(heard), "{:?}", heard.take);
}

#[test]
fn silence_ends_a_take_that_nobody_speaks_in() {
    let mut desk = desk(1);
    desk.answer(Answer::Begin);
    count_in(&mut desk);
    assert_eq!(hear(&mut desk, &room(RATE as usize * 7)), [DeskEvent::Taken]);
    assert!(matches!(desk.answer(Answer::Keep), Reply::No(_)) && matches!(desk.answer(Answer::Play), Reply::No(_)));
    assert_eq!(desk.answer(Answer::Again), Reply::Done(vec![]));
    assert!(matches!(desk.step(), Step::CountIn(0)));
}

#[test]
fn somebody_who_does_not_stop_is_stopped() {
    let mut desk = desk(1);
    desk.answer(Answer::Begin);
    count_in(&mut desk);
    let endless: Vec<f32> = spoken().into_iter().cycle().take(RATE as usize * 12).collect();
    assert_eq!(hear(&mut desk, &endless), [DeskEvent::Taken]);
    let Step::Decision(heard) = desk.step() else { panic!() };
    assert!(heard.faults.iter().any(|fault| fault.word() == "too-long"), "{:?}", heard.faults);
}

#[test]
fn answers_have_their_time() {
    let mut desk = desk(3);
    assert!(matches!(desk.answer(Answer::Back), Reply::No(_)) && matches!(desk.answer(Answer::Keep), Reply::No(_)));
    // Before anybody has begun, one may look through the texts.
    assert_eq!(desk.answer(Answer::Skip), Reply::Done(vec![DeskEvent::Prompt]));
    assert!(matches!(desk.step(), Step::Ready));
    assert_eq!(desk.answer(Answer::Back), Reply::Done(vec![DeskEvent::Prompt]));
    desk.answer(Answer::Begin);
    assert_eq!(
        [Answer::Keep, Answer::Play, Answer::Done].map(|answer| desk.answer(answer)),
        [Reply::Later, Reply::Later, Reply::Later]
    );
    count_in(&mut desk);
    assert_eq!(desk.answer(Answer::Keep), Reply::Later);
    hear(&mut desk, &[room(RATE as usize / 2), spoken(), room(RATE as usize / 4)].concat());
    assert_eq!(desk.answer(Answer::Done), Reply::Done(vec![DeskEvent::Taken]));
    assert!(matches!(desk.answer(Answer::Begin), Reply::No(_)) && matches!(desk.answer(Answer::Done), Reply::No(_)));
    assert_eq!(desk.answer(Answer::Skip), Reply::Done(vec![DeskEvent::Prompt]));
    assert_eq!(desk.fates(), [Fate::Skipped, Fate::Open, Fate::Open]);
    take(&mut desk);
    desk.answer(Answer::Keep);
    desk.kept();
    // Going back to what is kept and on again changes nothing of it.
    desk.answer(Answer::Back);
    desk.answer(Answer::Skip);
    assert_eq!(desk.fates(), [Fate::Skipped, Fate::Kept(vec![]), Fate::Open]);
    assert_eq!(desk.answer(Answer::Stop), Reply::Done(vec![DeskEvent::Over]));
    assert!(matches!(desk.answer(Answer::Begin), Reply::No(_)));
}

#[test]
fn a_microphone_that_comes_back_finds_the_decision_waiting() {
    let mut desk = desk(2);
    desk.answer(Answer::Begin);
    let heard = take(&mut desk);
    desk.listen_at(48_000);
    assert!(matches!(desk.step(), Step::Decision(waiting) if **waiting == heard));
    desk.answer(Answer::Again);
    desk.hear(&[0.0; 500]);
    desk.tear();
    desk.listen_at(RATE);
    assert!(matches!(desk.step(), Step::Ready), "a take in progress is lost");
    desk.answer(Answer::Begin);
    assert!(!take(&mut desk).torn, "the loss was in another take");
}

#[test]
fn what_was_lost_on_the_way_is_reported() {
    let mut desk = desk(1);
    desk.answer(Answer::Begin);
    count_in(&mut desk);
    desk.tear();
    hear(&mut desk, &[spoken(), room(RATE as usize * 3 / 2)].concat());
    assert!(matches!(desk.step(), Step::Decision(heard) if heard.torn));
}
