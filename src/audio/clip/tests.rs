//! Decoding against sines whose every sample is known.

use super::*;
use std::f64::consts::TAU;

// 440 Hz at half scale from phase 0, made by sox, dithered, encoded by oggenc (q 3) and ffmpeg. The short ones last 0.45 s (Ogg: 0.25 s) at
// 24 kHz mono (a single page of audio in the Ogg), the long one 2.3 s at 44.1 kHz stereo.
const SHORT_OGG: &[u8] = include_bytes!("../../../tests/clips/short.ogg");
const LONG_OGG: &[u8] = include_bytes!("../../../tests/clips/long.ogg");
const SHORT_FLAC: &[u8] = include_bytes!("../../../tests/clips/short.flac");
const SHORT_MP3: &[u8] = include_bytes!("../../../tests/clips/short.mp3");
// The same by ffmpeg's own encoders at 48 kbit/s, without loss, and in Opus at 24 kbit/s, 48 kHz.
const SHORT_AAC: &[u8] = include_bytes!("../../../tests/clips/short.m4a");
const SHORT_ALAC: &[u8] = include_bytes!("../../../tests/clips/short-alac.m4a");
const SHORT_OPUS: &[u8] = include_bytes!("../../../tests/clips/short.opus");

fn sine(rate: u32, frames: usize) -> Vec<f64> {
    (0..frames).map(|i| 0.5 * libm::sin(TAU * 440.0 * i as f64 / f64::from(rate))).collect()
}

/// Signal to error in dB of what was decoded against the sine, best gain allowed.
fn snr(pcm: &Pcm) -> f64 {
    let ideal = sine(pcm.rate, pcm.samples.len());
    let (mut power, mut error) = (0.0, 0.0);
    for (ideal, &sample) in ideal.iter().zip(&pcm.samples) {
        power += ideal * ideal;
        error += (ideal - f64::from(sample) / 32_768.0) * (ideal - f64::from(sample) / 32_768.0);
    }
    10.0 * libm::log10(power / error)
}

fn make_wav(spec: hound::WavSpec, frames: usize) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    let mut writer = hound::WavWriter::new(&mut bytes, spec).unwrap();
    for x in sine(spec.sample_rate, frames) {
        for channel in 0..spec.channels {
            // The channels differ; their mean is the sine.
            let x = if channel == 0 { x + 0.2 * f64::from(spec.channels - 1) } else { x - 0.2 };
            match spec.sample_format {
                hound::SampleFormat::Float => writer.write_sample(x as f32).unwrap(),
                hound::SampleFormat::Int => {
                    let full = f64::from(1_u32 << (spec.bits_per_sample - 1));
                    writer.write_sample((x * full).round().clamp(-full, full - 1.0) as i32).unwrap();
                }
            }
        }
    }
    writer.finalize().unwrap();
    bytes.into_inner()
}

fn int16() -> hound::WavSpec {
    hound::WavSpec { channels: 1, sample_rate: 24_000, bits_per_sample: 16, sample_format: hound::SampleFormat::Int }
}

#[test]
fn wav_of_every_depth_is_the_sine() {
    for (bits, format, least) in [
        (8, hound::SampleFormat::Int, 40.0),
        (16, hound::SampleFormat::Int, 85.0),
        (24, hound::SampleFormat::Int, 85.0),
        (32, hound::SampleFormat::Int, 85.0),
        (32, hound::SampleFormat::Float, 85.0),
    ] {
        for channels in 1..=3 {
            for sample_rate in [8_000, 24_000, 44_100, 192_000] {
                let spec = hound::WavSpec { channels, sample_rate, bits_per_sample: bits, sample_format: format };
                let bytes = make_wav(spec, 4_321);
                let pcm = decode(&bytes).unwrap();
                assert_eq!((pcm.rate, pcm.samples.len()), (sample_rate, 4_321));
                assert!(snr(&pcm) > least, "{spec:?}: {}", snr(&pcm));
                assert_eq!(probe(&bytes).unwrap(), pcm.len());
            }
        }
    }
}

#[test]
fn compressed_clips_keep_their_length_and_their_start() {
    for (name, bytes, frames, least) in [
        ("short.ogg", SHORT_OGG, 6_000, 25.0),
        ("long.ogg", LONG_OGG, 101_430, 25.0),
        ("short.flac", SHORT_FLAC, 10_800, 70.0),
        ("short.mp3", SHORT_MP3, 10_800, 25.0),
        ("short.m4a", SHORT_AAC, 10_800, 15.0),
        ("short-alac.m4a", SHORT_ALAC, 10_800, 70.0),
        ("short.opus", SHORT_OPUS, 21_600, 15.0),
    ] {
        let pcm = decode(bytes).unwrap();
        assert_eq!(pcm.samples.len(), frames, "{name}");
        assert!(snr(&pcm) > least, "{name}: {} dB", snr(&pcm));
        assert_eq!(probe(bytes).unwrap(), pcm.len(), "{name}");
    }
}

#[test]
fn lengths_round_up() {
    assert_eq!(length(1, 24_000), Seconds::from_nanos(41_667));
    assert_eq!(length(24_000, 24_000), Seconds::from_secs(1));
}

#[test]
fn what_cannot_be_used_says_why() {
    assert_eq!(decode(b""), Err(DecodeError::NotAudio));
    assert_eq!(decode(b"dear coach, here is my voice"), Err(DecodeError::NotAudio));
    assert_eq!(decode(&make_wav(int16(), 0)), Err(DecodeError::Empty));
    assert_eq!(decode(&make_wav(int16(), 61 * 24_000)), Err(DecodeError::TooLong(60)));
    let mut wav = make_wav(int16(), 100);
    // The rate, and the bytes a second that must agree with it.
    wav[24..32].fill(0);
    assert_eq!(decode(&wav), Err(DecodeError::Rate(0)));
    assert_eq!(probe(&wav), Err(DecodeError::Rate(0)));
    let mut ogg = SHORT_OGG.to_vec();
    ogg[28 + 12..28 + 16].fill(0);
    assert_eq!(decode(&ogg), Err(DecodeError::Rate(0)));
    // A stream of unknown length, as programs write to pipes.
    let mut wav = make_wav(int16(), 100);
    wav[40..44].fill(0xfe);
    assert_eq!(probe(&wav), Err(DecodeError::TooLong(60)));
}

#[test]
fn a_cut_recording_is_refused_and_never_panics() {
    let wav = make_wav(int16(), 2_000);
    for whole in [SHORT_OGG, LONG_OGG, SHORT_FLAC, SHORT_MP3, SHORT_AAC, SHORT_OPUS, &wav] {
        for cut in (0..whole.len()).step_by(whole.len() / 60) {
            let found = decode(&whole[..cut]);
            // MP3 states no trustworthy length: what is there is played.
            assert!(found.is_err() || header::kind(whole) == header::Container::Mpeg, "{cut} of {}", whole.len());
            let _ = probe(&whole[..cut]);
        }
    }
}

#[test]
fn noise_and_flipped_bytes_never_panic() {
    let mut seed = 1_u64;
    let mut random = || {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (seed >> 33) as usize
    };
    let wav = make_wav(int16(), 500);
    let magics: [&[u8]; 7] = [
        b"",
        b"OggS\0\x02",
        b"fLaC\0\0\0\x22",
        b"\xff\xfb\x90\x00",
        b"RIFF\x24\0\0\0WAVEfmt ",
        b"\0\0\0\x08ftyp",
        b"\xff\xf1",
    ];
    for round in 0..300 {
        let mut noise = magics[round % magics.len()].to_vec();
        noise.extend((0..random() % 3_000).map(|_| random() as u8));
        let _ = (probe(&noise), decode(&noise));
        for whole in [SHORT_OGG, SHORT_FLAC, SHORT_MP3, SHORT_AAC, SHORT_ALAC, SHORT_OPUS, &wav] {
            let mut bytes = whole.to_vec();
            for _ in 0..=round % 4 {
                // Half of the flips fall into the headers.
                let within = if random() % 2 == 0 { 120 } else { bytes.len() };
                let at = random() % within;
                bytes[at] = random() as u8;
            }
            if let (Ok(len), Ok(pcm)) = (probe(&bytes), decode(&bytes)) {
                assert_eq!(len, pcm.len());
            }
        }
    }
}

#[test]
fn what_is_no_number_is_no_sound() {
    let spec = hound::WavSpec { bits_per_sample: 32, sample_format: hound::SampleFormat::Float, ..int16() };
    for value in [f32::NAN, f32::INFINITY, f32::NEG_INFINITY] {
        let mut bytes = Cursor::new(Vec::new());
        let mut writer = hound::WavWriter::new(&mut bytes, spec).unwrap();
        for sample in [0.25, value, 0.25] {
            writer.write_sample(sample).unwrap();
        }
        writer.finalize().unwrap();
        let error = decode(&bytes.into_inner()).unwrap_err().to_string();
        assert!(error.contains("not numbers"), "{value}: {error}");
    }
}
