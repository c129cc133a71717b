use super::*;
use crate::cases::{amount, cases};
use crate::sink::spec::{Marker, Tags};
use crate::units::time::SampleRate;
use proptest::prelude::*;
use std::io::Cursor;

fn spec(hertz: u32, frames: u64) -> Spec {
    Spec { identity: "practice 1".to_owned(), ..Spec::plain(SampleRate::new(hertz).unwrap(), frames) }
}

fn write(spec: &Spec, pieces: &[&[Frame]]) -> Vec<u8> {
    let mut flac = Flac::begin(Cursor::new(Vec::new()), spec).unwrap();
    for piece in pieces {
        if !piece.is_empty() && piece.iter().all(|frame| *frame == [0; 2]) {
            flac.silence(piece.len() as u64).unwrap();
        } else {
            flac.sound(piece).unwrap();
        }
    }
    flac.finish().unwrap().into_inner()
}

/// Decoded by symphonia, through rodio: frames as they went in.
fn read(bytes: Vec<u8>) -> (u32, u16, Vec<i16>) {
    use rodio::Source;
    let decoder = rodio::Decoder::builder().with_byte_len(bytes.len() as u64).with_data(Cursor::new(bytes));
    let decoder = decoder.build().unwrap();
    let (rate, channels) = (decoder.sample_rate(), decoder.channels());
    (rate.into(), channels.into(), decoder.map(|sample| (sample * 32_768.0) as i16).collect())
}

/// Beats, a voice, a panned mark, silence: all kinds of blocks.
fn sound(frames: usize) -> Vec<Frame> {
    let mut state = 1_u32;
    (0..frames)
        .map(|at| {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let noise = (state >> 16) as i16;
            match at / 3000 % 6 {
                0 | 1 | 4 => [0; 2],
                2 => [noise / 8; 2],
                3 => [noise / 4, noise / 8],
                _ => [noise, -(noise / 2)],
            }
        })
        .collect()
}

#[test]
fn what_goes_in_comes_out() {
    for (hertz, mono, frames) in
        [(44_100, false, 100_000), (48_000, true, 40_001), (8_000, false, 4_096), (96_000, false, 8_191)]
            .into_iter()
            .chain([1, 15, 31, 63, 64, 4_095, 4_097].map(|frames| (44_100, false, frames)))
    {
        let sound = sound(frames);
        let read = read(write(&Spec { mono, ..spec(hertz, frames as u64) }, &[&sound]));
        let expected: Vec<i16> =
            if mono { sound.iter().map(|frame| to_mono(*frame)).collect() } else { sound.concat() };
        assert_eq!((read.0, read.1), (hertz, if mono { 1 } else { 2 }));
        assert!(read.2 == expected, "{frames} frames at {hertz} Hz");
    }
}

#[test]
fn silence_costs_next_to_nothing() {
    // An hour, or some of it; a silent block is its head, two constants and its sums.
    let frames = amount(60, 3600) * 44_100;
    let mut flac = Flac::begin(Cursor::new(Vec::new()), &spec(44_100, frames)).unwrap();
    flac.silence(frames).unwrap();
    let bytes = flac.finish().unwrap().into_inner();
    assert!(bytes.len() as u64 <= 200 + 18 * frames.div_ceil(4096), "{}", bytes.len());
}

#[test]
fn the_checksum_is_that_of_the_samples() {
    // MD5 of nothing (RFC 1321, appendix A.5), and of 4 zero bytes (md5sum).
    let sum = |bytes: &[u8]| bytes[26..42].iter().map(|byte| format!("{byte:02x}")).collect::<String>();
    assert_eq!(sum(&write(&spec(44_100, 0), &[])), "d41d8cd98f00b204e9800998ecf8427e");
    assert_eq!(sum(&write(&spec(44_100, 1), &[&[[0, 0]]])), "f1d3ff8443297732862df21dc4e57262");
    assert_eq!(sum(&write(&spec(44_100, 1), &[&[[1, 2]]])), "99ffb3d9eeadc24aa4f9b13530176bf8");
}

#[test]
fn what_it_says_of_itself_is_read_by_others() {
    let markers = [(44_100, "Easy start 1/2"), (100_000, "Länge = 2")];
    let spec = Spec {
        markers: markers.map(|(frame, label)| Marker { frame, label: label.into() }).to_vec(),
        tags: Tags { title: "T".into(), album: "A".into(), set: Some("S".into()), track: Some((2, 10)) },
        ..spec(44_100, 200_000)
    };
    let sound = sound(200_000);
    let bytes = write(&spec, &[&sound]);
    let tag = metaflac::Tag::read_from(&mut &bytes[..]).unwrap();
    let get = |key: &str| tag.get_vorbis(key).map(|values| values.collect::<Vec<_>>().join("|"));
    for (key, value) in [
        ("TITLE", "T"),
        ("ALBUM", "A"),
        ("SUBTITLE", "S"),
        ("TRACKNUMBER", "2"),
        ("TRACKTOTAL", "10"),
        ("CHAPTER001", "00:00:01.000"),
        ("CHAPTER001NAME", "Easy start 1/2"),
        ("CHAPTER002", "00:00:02.268"),
        ("CHAPTER002NAME", "Länge = 2"),
    ] {
        assert_eq!(get(key).as_deref(), Some(value), "{key}");
    }
    let info = tag.get_streaminfo().unwrap();
    assert_eq!((info.min_block_size, info.max_block_size, info.total_samples), (4096, 4096, 200_000));
    assert!(info.min_frame_size > 0 && info.max_frame_size > info.min_frame_size, "{info:?}");
    assert_eq!(comments::identity(&bytes[..]).unwrap().as_deref(), Some("practice 1"));
    // Cut anywhere in its head, or made by somebody else, it is not known, and nothing breaks.
    let head = bytes.len().min(700);
    for cut in 0..head {
        if let Ok(found) = comments::identity(&bytes[..cut]) {
            assert!(found.as_deref().is_none_or(|found| found == "practice 1"), "cut at {cut}");
        }
        let mut broken = bytes[..head].to_vec();
        broken[cut] ^= 0x55;
        let _ = comments::identity(&broken[..]);
    }
}

#[test]
fn clocks() {
    assert_eq!(comments::clock(0), "00:00:00.000");
    assert_eq!(comments::clock(36_123_004), "10:02:03.004");
    assert_eq!(comments::clock(1_000 * 3600 * 100), "100:00:00.000");
}

#[test]
fn a_wrong_number_of_frames_is_an_error() {
    let mut flac = Flac::begin(Cursor::new(Vec::new()), &spec(8_000, 2)).unwrap();
    assert!(flac.silence(3).is_err());
    let flac = Flac::begin(Cursor::new(Vec::new()), &spec(8_000, 2)).unwrap();
    assert!(flac.finish().unwrap_err().to_string().contains("2 of the frames"));
}

proptest! {
    #![proptest_config(cases(3))]

    #[test]
    fn the_same_bytes_for_any_division_and_any_number_of_threads(
        frames in 0_usize..400_000,
        cuts in prop::collection::vec(0.0..1.0_f64, 0..12),
        workers in 1_usize..5,
        mono in any::<bool>(),
    ) {
        let sound = sound(frames);
        let spec = Spec { mono, ..spec(22_050, frames as u64) };
        let mut cuts: Vec<usize> = cuts.iter().map(|cut| (cut * frames as f64) as usize).collect();
        // Where silence begins and ends, so that it is given as such.
        cuts.extend((0..=frames / 3000).map(|n| n * 3000));
        cuts.extend([0, frames]);
        cuts.sort_unstable();
        let pieces: Vec<&[Frame]> = cuts.windows(2).map(|cut| &sound[cut[0]..cut[1]]).collect();
        let divided = write(&Spec { workers, ..spec.clone() }, &pieces);
        prop_assert!(divided == write(&spec, &[&sound]));
    }
}
