use super::sample::to_i16;
use super::*;
use crate::audio::bank::{Bank, BankClip};
use crate::cases::amount;
use crate::timeline::segment::{DuckPoint, Event};
use crate::units::level::Decibels;

/// What the tests of the project hold the ceiling to: −1 dBTP, the programme ceiling of EBU R 128.
const CEILING_DBTP: f64 = -1.0;

fn rate(hertz: u32) -> SampleRate {
    SampleRate::new(hertz).unwrap()
}

fn bank(hertz: u32, clips: Vec<Vec<i16>>) -> Arc<Bank> {
    let clips = clips.into_iter().map(|samples| {
        let top = true_peak(hertz, &samples.iter().map(|sample| [*sample; 2]).collect::<Vec<_>>());
        BankClip { samples: samples.into(), gain: 1.0, true_peak: top as f32 }
    });
    Arc::new(Bank { rate: rate(hertz), clips: clips.collect() })
}

/// True peak as the ebur128 library measures it, linear.
fn true_peak(hertz: u32, frames: &[[i16; 2]]) -> f64 {
    let mut meter = ebur128::EbuR128::new(2, hertz, ebur128::Mode::TRUE_PEAK).unwrap();
    meter.add_frames_i16(frames.as_flattened()).unwrap();
    // The meter's interpolation has a delay: what is still in it comes out with silence.
    meter.add_frames_i16(&[0; 256]).unwrap();
    meter.true_peak(0).unwrap().max(meter.true_peak(1).unwrap())
}

fn event(frame: u64, id: u32, clip: u32) -> Event {
    Event { frame, id, clip, offset: 0, gain: [1.0, 1.0], bus: Bus::Voice }
}

fn segment(epoch: u32, start: u64, events: Vec<Event>, bank: &Arc<Bank>) -> Box<Segment> {
    Box::new(Segment { epoch, start, events: events.into(), duck: Box::new([]), bank: Arc::clone(bank) })
}

fn send(controls: &Controls, messages: impl IntoIterator<Item = ToMixer>) {
    messages.into_iter().for_each(|message| controls.to.try_send(message).unwrap());
}

/// Left and right of the next `frames` frames, in blocks of `block`.
fn pull(mixer: &mut Mixer, frames: usize, block: usize) -> Vec<[f32; 2]> {
    let mut out = vec![[f32::NAN; 2]; frames];
    out.chunks_mut(block).for_each(|block| mixer.render(block.as_flattened_mut()));
    out
}

/// The left channel of a practice from its first frame on.
fn left(mixer: &mut Mixer, frames: usize) -> Vec<f32> {
    let latency = mixer.latency() as usize;
    pull(mixer, latency + frames, 100)[latency..].iter().map(|frame| frame[0]).collect()
}

fn answers(controls: &Controls) -> Vec<String> {
    let text = |answer| match answer {
        FromMixer::Retired(segment) => format!("retired {}", segment.start),
        FromMixer::Refused(segment) => format!("refused {}", segment.start),
        FromMixer::Obeyed { id, effect, late: false, .. } => format!("applied {id} at {}", effect.number()),
        FromMixer::Obeyed { id, effect, late: true, .. } => format!("late {id} at {}", effect.number()),
    };
    controls.from.try_iter().map(text).collect()
}

/// A mixer at 8 kHz that plays a constant of a quarter of full scale for ten seconds; fades last 80 frames.
fn constant() -> (Mixer, Controls, Arc<Bank>) {
    let (mixer, controls) = Mixer::new(rate(8_000));
    let bank = bank(8_000, vec![vec![8_192; 80_000], vec![4_096; 80_000]]);
    send(&controls, [ToMixer::Append(segment(0, 0, vec![event(0, 0, 0)], &bank))]);
    (mixer, controls, bank)
}

const HALF: f32 = 0.501_187_2;

#[test]
fn a_fader_moves_from_its_exact_frame_on() {
    let (mut mixer, controls, _) = constant();
    let gain = Decibels::of(-6.0).gain();
    send(&controls, [ToMixer::Gain { id: 7, at: PracticeFrame::new(1001), bus: Bus::Voice, gain }]);
    send(&controls, [ToMixer::Gain { id: 8, at: PracticeFrame::new(1500), bus: Bus::Beats, gain }]);
    let out = left(&mut mixer, 2000);
    assert!(out[..=1001].iter().all(|sample| *sample == 0.25));
    assert!(out[1002] < 0.25 && out[1080] > 0.25 * HALF);
    assert!((out[1041] - 0.25 * (1.0 + HALF) / 2.0).abs() < 1e-6);
    assert!(out[1081..].iter().all(|sample| (*sample - 0.25 * HALF).abs() < 1e-7));
    assert_eq!(answers(&controls), ["applied 7 at 1001", "applied 8 at 1500"]);
}

#[test]
fn a_late_command_is_obeyed_at_the_head_and_says_so() {
    let (mut mixer, controls, _) = constant();
    left(&mut mixer, 1000);
    let head = mixer.position();
    send(
        &controls,
        [ToMixer::Gain { id: 1, at: PracticeFrame::new(5), bus: Bus::Voice, gain: Decibels::of(-6.0).gain() }],
    );
    let out = pull(&mut mixer, 1000, 64);
    assert_eq!(answers(&controls), [format!("late 1 at {}", head.number())]);
    assert!((out[999][0] - 0.25 * HALF).abs() < 1e-7);
}

/// Leaves the course of epoch 0 and everything that sounds of it.
fn cut(id: u32, at: u64, to: u64, next: Box<Segment>) -> ToMixer {
    let (at, to) = (PracticeFrame::new(at), PracticeFrame::new(to));
    ToMixer::Cut { id, at, to, epoch: 1, rings: Rings::NONE, next }
}

#[test]
fn a_cut_fades_the_old_and_starts_the_new() {
    let (mut mixer, controls, bank) = constant();
    let dropped = event(1200, 1, 0);
    send(&controls, [ToMixer::Append(segment(0, 600, vec![dropped], &bank))]);
    let next = segment(1, 1090, vec![event(1090, 2, 1)], &bank);
    send(&controls, [cut(3, 1003, 1003, next)]);
    let out = left(&mut mixer, 3000);
    assert_eq!((out[1003], out[1083], out[1089]), (0.25, 0.0, 0.0));
    assert!((out[1043] - 0.125).abs() < 1e-6);
    assert!(out[1090..].iter().all(|sample| *sample == 0.125));
    // The first went as soon as it had nothing left to start: its voice lives on from the bank that both share.
    assert_eq!(answers(&controls), ["retired 0", "applied 3 at 1003", "retired 600"]);
    assert_eq!(controls.figures.missed(), 0);
}

#[test]
fn a_cut_can_leave_time_out() {
    let (mut mixer, controls, bank) = constant();
    // What was due in the time that is left out is not heard, and not missed.
    send(&controls, [ToMixer::Append(segment(0, 600, vec![event(1500, 1, 0)], &bank))]);
    let next = segment(1, 5000, vec![event(5100, 2, 1)], &bank);
    send(&controls, [cut(3, 1003, 5000, next)]);
    let gain = Gain::UNITY;
    send(&controls, [ToMixer::Gain { id: 4, at: PracticeFrame::new(3000), bus: Bus::Beats, gain }]);
    let out = left(&mut mixer, 3000);
    // The old voice fades over the very frames that it would have had, the new one comes 100 frames behind the cut.
    assert_eq!((out[1002], out[1003], out[1083], out[1102]), (0.25, 0.25, 0.0, 0.0));
    assert!((out[1043] - 0.125).abs() < 1e-6);
    assert!(out[1103..].iter().all(|sample| *sample == 0.125));
    let told = answers(&controls);
    assert!(
        told.contains(&"applied 3 at 1003".to_owned()) && told.contains(&"applied 4 at 5000".to_owned()),
        "{told:?}"
    );
    assert_eq!(controls.figures.missed(), 0);
    let figures = &controls.figures;
    assert_eq!(figures.position().number() - 3997, figures.put_out().number());
}

#[test]
fn a_cut_can_go_back_into_silence() {
    let (mut mixer, controls) = Mixer::new(rate(8_000));
    let clips = bank(8_000, vec![vec![8_192; 500], vec![16_384]]);
    send(&controls, [ToMixer::Append(segment(0, 0, vec![event(0, 0, 0), event(1500, 1, 1)], &clips))]);
    send(&controls, [ToMixer::Append(segment(0, 900, vec![event(1600, 2, 1)], &clips))]);
    send(&controls, [cut(3, 1000, 800, segment(1, 800, vec![event(1500, 4, 1)], &clips))]);
    let out = left(&mut mixer, 3000);
    // 200 frames more of silence before the same impulse, and nothing twice.
    assert_eq!(out.iter().rposition(|sample| *sample == 0.25), Some(499));
    let impulses: Vec<usize> = (0..3000).filter(|at| out[*at] == 0.5).collect();
    assert_eq!(impulses, [1700]);
    assert_eq!(controls.figures.missed(), 0);
}

/// Segments of the course that a cut brings are in the mixer before it; where it goes back they begin before what is played until then.
#[test]
fn a_course_that_goes_back_waits_for_its_cut() {
    let (mut mixer, controls) = Mixer::new(rate(8_000));
    let clips = bank(8_000, vec![vec![8_192; 500], vec![16_384]]);
    send(&controls, [ToMixer::Append(segment(0, 0, vec![event(0, 0, 0), event(900, 1, 1)], &clips))]);
    assert_eq!(left(&mut mixer, 700).iter().rposition(|sample| *sample == 0.25), Some(499));
    let later = ToMixer::Append(segment(1, 801, vec![event(900, 3, 1), event(1_200, 4, 1)], &clips));
    send(&controls, [cut(3, 1_000, 800, segment(1, 800, vec![], &clips)), later]);
    let out: Vec<f32> = pull(&mut mixer, 2_000, 64).iter().map(|frame| frame[0]).collect();
    // At 900 of the old course, and 200 frames after the cut, which came 100 frames later, at 900 and 1,200 of the new one.
    let impulses: Vec<usize> = (0..2_000).filter(|at| out[*at] == 0.5).map(|at| at + 700).collect();
    assert_eq!(impulses, [900, 1_100, 1_400]);
    assert_eq!(controls.figures.missed(), 0);
}

#[test]
fn segments_of_an_old_course_that_have_not_begun_go_too() {
    let (mut mixer, controls, bank) = constant();
    let later = (1..8).map(|i| ToMixer::Append(segment(0, i * 1000, vec![event(i * 1000, i as u32, 1)], &bank)));
    send(&controls, later);
    let next = segment(1, 180, vec![event(180, 9, 1)], &bank);
    send(&controls, [cut(1, 100, 100, next)]);
    let out = left(&mut mixer, 9000);
    assert!(out[180..].iter().all(|sample| *sample == 0.125));
    assert_eq!(answers(&controls).len(), 1 + 8);
}

#[test]
fn a_pause_stops_the_clock_and_goes_on_where_it_was() {
    let (mut mixer, controls) = Mixer::new(rate(8_000));
    // A voice that ends with frame 1,999, then an impulse on 2,500.
    let clips = bank(8_000, vec![vec![8_192; 2000], vec![16_384]]);
    send(&controls, [ToMixer::Append(segment(0, 0, vec![event(0, 0, 0), event(2500, 1, 1)], &clips))]);
    send(
        &controls,
        [ToMixer::Pause { id: 1, at: PracticeFrame::new(1000) }, ToMixer::Resume { id: 2, at: OutputFrame::new(5003) }],
    );
    let out = left(&mut mixer, 8000);
    assert_eq!((out[999], out[1000], out[1080], out[5003], out[5083]), (0.25, 0.25, 0.0, 0.0, 0.25));
    assert!(out[1080..5003].iter().all(|sample| *sample == 0.0));
    // 80 frames of the practice pass in the fade; then it stands still until output frame 5,003.
    let delay = 5003 - 1080;
    assert_eq!(out.iter().rposition(|sample| *sample == 0.25), Some(1999 + delay));
    assert_eq!(out.iter().position(|sample| *sample == 0.5), Some(2500 + delay));
    assert_eq!(answers(&controls), ["applied 1 at 1000", "applied 2 at 5003"]);
    assert_eq!(controls.figures.position().number() + delay as u64, controls.figures.put_out().number());
}

#[test]
fn commands_do_not_depend_on_the_blocks() {
    let render = |block| {
        let (mut mixer, controls, bank) = constant();
        let gain = Decibels::of(-20.0).gain();
        let next = segment(1, 2700, vec![event(2800, 1, 1)], &bank);
        send(
            &controls,
            [
                ToMixer::Gain { id: 1, at: PracticeFrame::new(777), bus: Bus::Voice, gain },
                ToMixer::Gain { id: 2, at: PracticeFrame::new(800), bus: Bus::Voice, gain: Gain::UNITY },
                ToMixer::Pause { id: 3, at: PracticeFrame::new(1111) },
                ToMixer::Resume { id: 4, at: OutputFrame::new(1150) },
                cut(5, 2345, 2700, next),
            ],
        );
        pull(&mut mixer, 4000, block)
    };
    let whole = render(4000);
    for block in [1, 63, 64, 65, 441] {
        assert!(render(block) == whole, "blocks of {block}");
    }
}

#[test]
fn sides_have_their_own_gain() {
    let (mut mixer, controls) = Mixer::new(rate(8_000));
    let bank = bank(8_000, vec![vec![8_192; 3000], vec![8_192; 1000]]);
    let sided = Event { gain: [0.5, 1.0], ..event(1010, 1, 1) };
    send(&controls, [ToMixer::Append(segment(0, 0, vec![event(0, 0, 0), sided], &bank))]);
    let latency = mixer.latency() as usize;
    let out = pull(&mut mixer, latency + 3000, 100);
    let at = |frame: usize| out[latency + frame];
    assert_eq!([at(1009), at(1010), at(2009), at(2010)], [[0.25; 2], [0.375, 0.5], [0.375, 0.5], [0.25; 2]]);
}

#[test]
fn a_segment_that_finds_no_room_comes_back() {
    let (mut mixer, controls, bank) = constant();
    let more = (1..=SEGMENTS as u64).map(|i| ToMixer::Append(segment(0, i * 100_000, vec![], &bank)));
    send(&controls, more);
    pull(&mut mixer, 64, 64);
    assert_eq!(answers(&controls), ["refused 1500000", "refused 1600000"]);
}

#[test]
fn what_comes_after_its_frame_is_counted_as_missed() {
    let (mut mixer, controls, bank) = constant();
    left(&mut mixer, 1000);
    let late = vec![event(100, 1, 1), event(200, 2, 99), event(100_000, 3, 99)];
    send(&controls, [ToMixer::Append(segment(0, 100, late, &bank))]);
    pull(&mut mixer, 200_000, 1000);
    assert_eq!(controls.figures.missed(), 3);
    assert_eq!(controls.figures.voices(), 0);
}

#[test]
fn one_voice_too_many_ends_the_one_nearest_its_end() {
    let (mut mixer, controls) = Mixer::new(rate(8_000));
    let bank = bank(8_000, vec![vec![64; 4000], vec![64; 3000]]);
    let mut events: Vec<_> = (0..VOICES as u32).map(|id| event(0, id, if id == 20 { 1 } else { 0 })).collect();
    events.push(event(640, 64, 0));
    send(&controls, [ToMixer::Append(segment(0, 0, events, &bank))]);
    let out = left(&mut mixer, 5000);
    assert_eq!((controls.figures.stolen(), controls.figures.missed()), (1, 0));
    let one = 64.0 / 32_768.0;
    assert_eq!([out[639], out[640], out[3500], out[4500]], [64.0 * one, 64.0 * one, 64.0 * one, one]);
}

#[test]
fn figures_show_the_peak() {
    let (mut mixer, controls, _) = constant();
    pull(&mut mixer, 1000, 64);
    assert_eq!(controls.figures.take_peak(), 0.25);
    assert_eq!(controls.figures.take_peak(), 0.0);
    assert_eq!(controls.figures.voices(), 1);
}

/// Clips that no limiter likes, full scale, a second each.
fn hostile(hertz: u32) -> Vec<Vec<i16>> {
    let frames = hertz as usize;
    let mut state = 7_u32;
    let mut random = move || {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (state >> 16) as i16
    };
    let sine = |period: f64, phase: f64| -> Vec<i16> {
        let at = |i: usize| libm::sin(std::f64::consts::TAU * (i as f64 / period + phase)) * 32_767.0;
        (0..frames).map(|i| libm::round(at(i)) as i16).collect()
    };
    let square = |period: usize| -> Vec<i16> {
        (0..frames).map(|i| if i % period < period / 2 { 32_767 } else { -32_768 }).collect()
    };
    vec![
        square(2),
        square(6),
        square(50),
        square(97),
        sine(4.0, 0.125),
        sine(6.0, 1.0 / 6.0),
        sine(2.13, 0.0),
        sine(37.7, 0.0),
        (0..frames).map(|_| random()).collect(),
        (0..frames).map(|_| if random() < 0 { i16::MIN } else { i16::MAX }).collect(),
        (0..frames).map(|i| if i % 101 == 0 { 32_767 } else { 0 }).collect(),
        (0..frames).map(|i| if i % 64 < 2 { -32_768 } else { 0 }).collect(),
        (0..frames).map(|i| if i % 2000 < 1000 { 0 } else { 32_767 }).collect(),
        (0..frames).map(|i| if i / 3 % 2 == 0 { 32_767 } else { -32_768 }).collect(),
        sine(3.9, 0.1),
        square(4),
    ]
}

fn hostile_mix(hertz: u32, clips: &[Vec<i16>], always_detect: bool) -> Vec<[i16; 2]> {
    let bank = bank(hertz, clips.to_vec());
    let (mut mixer, controls) = Mixer::new(rate(hertz));
    mixer.limiter.always_detect = always_detect;
    let events = (0..).zip(0..clips.len() as u32).map(|(id, clip)| {
        // Alone for a while, then one after another on top, from sides of their own.
        Event { gain: [1.0, if clip % 3 == 0 { 1.0 } else { 0.7 }], ..event(u64::from(id) * 777, id, clip) }
    });
    send(&controls, [ToMixer::Append(segment(0, 0, events.collect(), &bank))]);
    let frames = hertz as usize + 20 * 777 + mixer.latency() as usize;
    pull(&mut mixer, frames, 4096).iter().map(|frame| frame.map(to_i16)).collect()
}

#[test]
fn hostile_mixes_stay_under_the_ceiling() {
    let rates = amount(&[8_000, 44_100][..], &[8_000, 11_025, 16_000, 44_100, 48_000, 88_200, 192_000]);
    for hertz in rates.iter().copied() {
        let clips = hostile(hertz);
        let mut worst = f64::NEG_INFINITY;
        let alone = clips.iter().map(|clip| vec![clip.clone()]);
        for set in alone.chain([clips.clone(), clips[8..].to_vec(), clips[..5].to_vec()]) {
            let peak = 20.0 * libm::log10(true_peak(hertz, &hostile_mix(hertz, &set, false)));
            worst = worst.max(peak);
        }
        println!("{hertz} Hz: {worst:.3} dBTP");
        assert!(worst <= CEILING_DBTP, "{hertz} Hz: {worst:.3} dBTP");
        assert!(worst > CEILING_DBTP - 1.5, "{hertz} Hz: {worst:.3} dBTP is quieter than it need be");
    }
}

#[test]
fn whether_the_detector_ran_cannot_be_heard() {
    for hertz in amount(&[8_000][..], &[8_000, 44_100]).iter().copied() {
        let clips = hostile(hertz);
        for level in amount(&[0.02, 0.8, 1.0][..], &[0.02, 0.05, 0.3, 0.8, 0.9, 1.0]).iter().copied() {
            let scaled = |clip: &Vec<i16>| clip.iter().map(|sample| (f64::from(*sample) * level) as i16).collect();
            let clips: Vec<Vec<i16>> = clips.iter().map(scaled).collect();
            for set in clips.iter().map(std::slice::from_ref).chain([&clips[..]]) {
                assert!(hostile_mix(hertz, set, false) == hostile_mix(hertz, set, true), "{hertz} Hz, level {level}");
            }
        }
    }
}

#[test]
fn what_stays_under_the_ceiling_passes_unchanged() {
    let sine: Vec<i16> = (0..20_000).map(|i| (libm::sin(f64::from(i) * 0.07) * 27_000.0) as i16).collect();
    let out = hostile_mix(44_100, std::slice::from_ref(&sine), false);
    let latency = limit::look_ahead(rate(44_100));
    // The end is left out: cut off in mid-wave it rings, and the limiter answers that.
    let sine = &sine[..19_000];
    assert!(out[latency..].iter().zip(sine).all(|(out, sample)| out[0] == *sample));
}

#[test]
fn the_gain_moves_smoothly_and_comes_back() {
    let (mut mixer, controls) = Mixer::new(rate(44_100));
    // A quiet constant, on which a burst of 1,000 frames lands.
    let bank = bank(44_100, vec![vec![3_277; 40_000], vec![32_767; 1000]]);
    send(&controls, [ToMixer::Append(segment(0, 0, vec![event(0, 0, 0), event(10_000, 1, 1)], &bank))]);
    let out = left(&mut mixer, 40_000);
    let quiet = out[0];
    let gain = |i: usize| out[i] / quiet;
    assert_eq!(gain(10_000 - 128), 1.0);
    let lowest = gain(9_999);
    assert!(lowest < 0.82, "{lowest}");
    let outside = |i: &usize| !(9_999..11_001).contains(i);
    let step = (1..40_000).filter(outside).map(|i| (gain(i) - gain(i - 1)).abs()).fold(0.0, f32::max);
    assert!(step < 0.01, "{step}");
    // 90 % of the way back within about 100 ms, all of it in the end.
    assert!((gain(11_000 + 4_700) - lowest) / (1.0 - lowest) > 0.88);
    assert!(gain(11_000 + 2_000) < 0.95);
    assert_eq!(gain(39_999), 1.0);
}

#[test]
fn ducking_holds_across_segments() {
    let (mut mixer, controls) = Mixer::new(rate(8_000));
    let bank = bank(8_000, vec![vec![8_192; 4000]]);
    let duck: Box<[DuckPoint]> =
        [(500, 1.0), (700, 0.5), (1500, 0.5), (1600, 1.0)].map(|(frame, gain)| DuckPoint { frame, gain }).into();
    let beat = Event { bus: Bus::Beats, ..event(0, 0, 0) };
    let [mut first, mut second] = [segment(0, 0, vec![beat], &bank), segment(0, 1010, vec![], &bank)];
    (first.duck, second.duck) = (duck.clone(), duck);
    send(&controls, [ToMixer::Append(first), ToMixer::Append(second)]);
    let out = left(&mut mixer, 3000);
    assert_eq!(
        [out[500], out[600], out[700], out[1500], out[1550], out[1600]],
        [0.25, 0.1875, 0.125, 0.125, 0.1875, 0.25]
    );
}
