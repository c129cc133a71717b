use super::*;
use crate::sink::file::Replace;
use crate::sink::output::{Existing, FileOutput, Format, existing};
use crate::sink::spec::Marker;
use crate::units::time::SampleRate;
use std::fs;

fn spec(hertz: u32, frames: u64) -> Spec {
    Spec { identity: "practice 1".to_owned(), ..Spec::plain(SampleRate::new(hertz).unwrap(), frames) }
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

fn write(spec: &Spec, frames: &[Frame]) -> Vec<u8> {
    let mut wav = Wav::begin(Vec::new(), spec).unwrap();
    wav.sound(frames).unwrap();
    wav.finish().unwrap()
}

#[test]
fn header_bytes() {
    // RIFF/WAVE, 48 kHz stereo 16 bit, one second, nothing after the data: by the format's definition.
    assert_eq!(
        hex(&header(&spec(48_000, 48_000), 0)),
        "5249464624ee020057415645666d7420100000000100020080bb000000ee0200040010006461746100ee0200"
    );
}

#[test]
fn marker_bytes() {
    // The `cue ` and `LIST/adtl/labl` chunks of the RIFF/WAVE format for one cue at frame 48,000, named "push".
    let markers = vec![Marker { frame: 48_000, label: "push".to_owned() }];
    let bytes = hex(&tail(&Spec { markers, ..spec(48_000, 48_000) }));
    let expected = "637565201c000000010000000100000080bb000064617461000000000000000080bb0000\
                    4c495354160000006164746c6c61626c0900000001000000707573680000";
    assert!(bytes.starts_with(expected), "{bytes}");
    assert!(bytes[expected.len()..].starts_with(&hex(b"LIST")), "{bytes}");
}

#[test]
fn hound_reads_what_is_written() {
    let frames: Vec<Frame> = (0..1000).map(|i| [i, -i]).collect();
    for mono in [false, true] {
        let markers = vec![Marker { frame: 10, label: "odd".to_owned() }];
        let bytes = write(&Spec { mono, markers, ..spec(8_000, 1000) }, &frames);
        let riff = u32::from_le_bytes(bytes[4..8].try_into().unwrap());
        assert_eq!(bytes.len(), riff as usize + 8);
        let mut reader = hound::WavReader::new(&bytes[..]).unwrap();
        assert_eq!(reader.spec().channels, if mono { 1 } else { 2 });
        let samples: Vec<i16> = reader.samples().map(Result::unwrap).collect();
        let expected: Vec<i16> = if mono { vec![0; 1000] } else { frames.concat() };
        assert_eq!(samples, expected);
    }
}

#[test]
fn silence_is_written_like_zeros() {
    for (before, frames) in [(1, 10), (0, 70_000), (3, 200_000)] {
        let spec = spec(8_000, before + frames);
        let mut wav = Wav::begin(Vec::new(), &spec).unwrap();
        wav.sound(&vec![[1, 2]; before as usize]).unwrap();
        wav.silence(frames).unwrap();
        let mut all = vec![[1, 2]; before as usize];
        all.resize((before + frames) as usize, [0, 0]);
        assert!(wav.finish().unwrap() == write(&spec, &all), "{before} + {frames}");
    }
}

#[test]
fn a_wrong_number_of_frames_is_an_error() {
    let mut wav = Wav::begin(Vec::new(), &spec(8_000, 2)).unwrap();
    assert!(wav.silence(3).is_err());
    let wav = Wav::begin(Vec::new(), &spec(8_000, 2)).unwrap();
    assert!(wav.finish().unwrap_err().to_string().contains("2 of the frames"));
}

/// Keeps the first 100 bytes and counts the others, so that 4 GiB need no room.
#[derive(Default)]
struct Counting {
    head: Vec<u8>,
    bytes: u64,
    tail: Vec<u8>,
}

impl Write for Counting {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let room = 100 - self.head.len();
        self.head.extend(bytes.iter().take(room));
        self.bytes += bytes.len() as u64;
        self.tail = bytes[bytes.len().saturating_sub(100)..].to_vec();
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[test]
fn beyond_four_gibibytes_sizes_are_64_bit() {
    // EBU Tech 3306: RF64, sizes of 2^32 − 1, ds64 with the true ones. Ten hours of 44.1 kHz stereo.
    let frames = 10 * 3600 * 44_100;
    let spec = spec(44_100, frames);
    let mut wav = Wav::begin(Counting::default(), &spec).unwrap();
    wav.silence(frames).unwrap();
    let file = wav.finish().unwrap();
    let field = |at: usize| u64::from_le_bytes(file.head[at..at + 8].try_into().unwrap());
    assert_eq!(&file.head[..20], b"RF64\xff\xff\xff\xffWAVEds64\x1c\0\0\0");
    assert_eq!(field(20), file.bytes - 8);
    assert_eq!((field(28), field(36)), (frames * 4, frames));
    assert_eq!(&file.head[44..48], [0; 4]);
    assert_eq!(&file.head[72..80], b"data\xff\xff\xff\xff");
    assert!(file.tail.ends_with(&tail(&spec)[20..]));
}

#[test]
fn plain_until_the_last_frame_that_fits() {
    // 6.763 h of 44.1 kHz stereo 16 bit fill a plain WAV (arithmetic: 2^32 / 176,400 / 3,600).
    let tail = tail(&spec(44_100, 1)).len() as u64;
    let most = (u64::from(u32::MAX) - 36 - tail) / 4;
    assert_eq!(&header(&spec(44_100, most), tail)[..4], b"RIFF");
    assert_eq!(&header(&spec(44_100, most + 1), tail)[..4], b"RF64");
    assert!((most as f64 / 44_100.0 / 3600.0 - 6.763).abs() < 0.001);
}

#[test]
fn our_own_render_is_known_again() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("out.wav");
    assert_eq!(existing(&path), Existing::Absent);
    let spec = Spec { markers: vec![Marker { frame: 1, label: "go".to_owned() }], ..spec(8_000, 5) };
    let mut file = FileOutput::create(&path, Format::Wav, &spec, Replace::Never).unwrap();
    file.sound(&[[1, 1]; 5]).unwrap();
    file.finish().unwrap();
    assert_eq!(existing(&path), Existing::OurRender { identity: "practice 1".to_owned() });
    let ours = fs::read(&path).unwrap();
    for cut in 0..ours.len() {
        fs::write(&path, &ours[..cut]).unwrap();
        assert_eq!(existing(&path), Existing::Other, "cut at {cut}");
    }
    let foreign: Vec<u8> = String::from_utf8_lossy(&ours).replace(FAMILY, "Longwise   ").into_bytes();
    fs::write(&path, foreign).unwrap();
    assert_eq!(existing(&path), Existing::Other);
    fs::write(&path, b"not sound at all").unwrap();
    assert_eq!(existing(&path), Existing::Other);
}

#[test]
fn a_long_render_is_known_by_its_ds64() {
    // An RF64 whose data chunk, for the test, is short: the size in `ds64` is the one that counts.
    let mut bytes = header(&Spec { frames: 1 << 31, ..spec(8_000, 0) }, 0);
    bytes[28..36].copy_from_slice(&8_u64.to_le_bytes());
    bytes.extend([0; 8]);
    bytes.extend(tail(&spec(8_000, 2)));
    assert_eq!(identity(io::Cursor::new(bytes)).unwrap().as_deref(), Some("practice 1"));
}

#[test]
fn an_unfinished_file_leaves_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let mut file =
        FileOutput::create(&folder.path().join("out.wav"), Format::Wav, &spec(8_000, 5), Replace::Never).unwrap();
    file.sound(&[[1, 1]; 3]).unwrap();
    assert!(file.finish().is_err());
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_named() {
    let full = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let mut wav = match Wav::begin(full, &spec(8_000, 1 << 20)) {
        Err(error) => return assert_eq!(error.kind(), io::ErrorKind::StorageFull),
        Ok(wav) => wav,
    };
    assert_eq!(wav.silence(1 << 20).unwrap_err().kind(), io::ErrorKind::StorageFull);
}
