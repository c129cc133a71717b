use super::*;
use crate::cases::amount;
use crate::sink::spec::{Marker, Spec, Tags};
use id3::TagLike;
use std::io::Cursor;

fn rate(hertz: u32) -> SampleRate {
    SampleRate::new(hertz).unwrap()
}

#[test]
fn what_it_cannot_do_is_reported_with_what_it_can() {
    assert_eq!(kilobits(rate(44_100), None), Ok(128));
    assert_eq!(kilobits(rate(8_000), None), Ok(64));
    assert_eq!(kilobits(rate(48_000), Some(320)), Ok(320));
    let error = kilobits(rate(96_000), None).unwrap_err().to_string();
    assert!(error.contains("96000") && error.contains("44100, 48000"), "{error}");
    let error = kilobits(rate(22_050), Some(320)).unwrap_err().to_string();
    assert!(error.contains("320 kbit/s") && error.ends_with("128, 160"), "{error}");
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

#[test]
fn chapter_bytes() {
    // ID3v2 chapter frame addendum (id3.org, 2005), version 2.4: CHAP "ch1" from 0 to 30,000 ms, offsets not used.
    let markers = vec![Marker { frame: 0, label: String::new() }];
    let spec = Spec { markers, ..Spec::plain(rate(8_000), 240_000) };
    let bytes = hex(&tag::block(&spec).unwrap());
    let chapter = "43484150000000140000636831000000000000007530ffffffffffffffff";
    assert!(bytes.contains(chapter), "{bytes}");
    // Its table of contents: top level and ordered, one entry.
    let contents = "43544f430000000a0000746f63000301636831";
    assert!(bytes.contains(&contents[..20]) && bytes.contains("746f63000301636831"), "{bytes}");
}

#[test]
fn tags_come_back() {
    let markers: Vec<_> = (0..300).map(|n| Marker { frame: n * 8_000, label: format!("Länge {n}") }).collect();
    let tags = Tags { title: "T".into(), album: "A".into(), set: Some("S".into()), track: Some((2, 10)) };
    let identity = "practice 1".to_owned();
    let spec = Spec { markers, tags, identity, ..Spec::plain(rate(8_000), 300 * 8_000 + 4) };
    let bytes = tag::block(&spec).unwrap();
    let read = id3::Tag::read_from2(Cursor::new(&bytes)).unwrap();
    assert_eq!(
        (read.title(), read.album(), read.track(), read.total_tracks()),
        (Some("T"), Some("A"), Some(2), Some(10))
    );
    let times: Vec<_> = read.chapters().map(|chapter| (chapter.start_time, chapter.end_time)).collect();
    assert_eq!(times.len(), 300);
    assert!(times.iter().zip(0..).all(|(time, n)| time.0 == n * 1000 && time.1 == n * 1000 + 1000 + n / 299));
    // More than a table holds: a table of two.
    let tables: Vec<_> = read.tables_of_contents().map(|table| (table.top_level, table.elements.len())).collect();
    assert_eq!(tables, [(true, 2), (false, 255), (false, 45)]);
    assert_eq!(tag::identity(&bytes[..]).unwrap().as_deref(), Some("practice 1"));
    for cut in (0..200).step_by(amount(5, 1)) {
        let mut broken = bytes.clone();
        broken[cut] ^= 0x55;
        let _ = tag::identity(&broken[..]);
        let _ = tag::identity(&bytes[..cut]);
    }
}

#[cfg(feature = "mp3")]
mod encoded {
    use super::*;
    use crate::mixer::sample::Frame;
    use crate::sink::Sink;
    use crate::sink::mp3::encoder::Mp3;

    fn tone(frames: usize) -> Vec<Frame> {
        // Bursts of a tone and silence, at a place of its own each: no two stretches alike.
        (0..frames)
            .map(|at| {
                if at / 5_000 % 3 != 1 {
                    return [0; 2];
                }
                let sample = (libm::sin(at as f64 * 0.1) * 8_000.0) as i16;
                [sample, sample / 2]
            })
            .collect()
    }

    fn write(spec: &Spec, pieces: &[&[Frame]]) -> Vec<u8> {
        let mut mp3 = Mp3::begin(Cursor::new(Vec::new()), spec).unwrap();
        for piece in pieces {
            if piece.iter().all(|frame| *frame == [0; 2]) {
                mp3.silence(piece.len() as u64).unwrap();
            } else {
                mp3.sound(piece).unwrap();
            }
        }
        mp3.finish().unwrap().into_inner()
    }

    /// By symphonia, through rodio.
    fn read(bytes: Vec<u8>) -> (u16, Vec<f32>) {
        use rodio::Source;
        let decoder = rodio::Decoder::builder().with_byte_len(bytes.len() as u64).with_gapless(true);
        let decoder = decoder.with_data(Cursor::new(bytes)).build().unwrap();
        (decoder.channels().into(), decoder.collect())
    }

    #[test]
    fn exactly_the_frames_come_out_and_where_they_were() {
        for hertz in [44_100, 22_050, 8_000] {
            for mono in [false, true] {
                for frames in [1, 575, 576, 1_151, 1_152, 1_153, 20_000, 20_575, 44_100] {
                    let sound = tone(frames);
                    let (channels, read) =
                        read(write(&Spec { mono, ..Spec::plain(rate(hertz), frames as u64) }, &[&sound]));
                    assert_eq!(read.len() / usize::from(channels), frames, "{frames} at {hertz} Hz, mono {mono}");
                    // The codec changes samples, not their place: the likeness is greatest with no shift at all.
                    if frames == 44_100 && !mono {
                        let left: Vec<f64> = read.iter().step_by(2).map(|sample| f64::from(*sample)).collect();
                        let likeness = |shift: usize, back: bool| -> f64 {
                            let (a, b) = if back { (shift, 0) } else { (0, shift) };
                            let pairs = left.iter().skip(a).zip(sound.iter().skip(b));
                            pairs.map(|(one, other)| one * f64::from(other[0])).sum()
                        };
                        let best = likeness(0, false);
                        assert!((1..30).all(|s| likeness(s, false) < best && likeness(s, true) < best), "{hertz} Hz");
                    }
                }
            }
        }
    }

    #[test]
    fn the_same_bytes_for_any_division() {
        let sound = tone(50_000);
        let spec = Spec::plain(rate(44_100), 50_000);
        let whole = write(&spec, &[&sound]);
        for cuts in [vec![5_000, 10_000, 20_000], vec![1, 2, 700, 4_999, 30_001], vec![49_999]] {
            let mut rest = &sound[..];
            let (mut pieces, mut at) = (Vec::new(), 0);
            for cut in cuts {
                let (now, later) = rest.split_at(cut - at);
                pieces.push(now);
                (rest, at) = (later, cut);
            }
            pieces.push(rest);
            assert!(write(&spec, &pieces) == whole, "{}", pieces.len());
        }
    }

    #[test]
    fn a_wrong_number_of_frames_is_an_error() {
        let begin = || Mp3::begin(Cursor::new(Vec::new()), &Spec::plain(rate(8_000), 2)).unwrap();
        assert!(begin().silence(3).is_err());
        assert!(begin().finish().unwrap_err().to_string().contains("2 of the frames"));
    }
}
