//! What a FLAC says of itself: the VORBIS_COMMENT block (Xiph.Org, "Ogg Vorbis I format specification: comment field"),
//! with chapters in the form that players have come to share: `CHAPTER001=00:00:10.000`, `CHAPTER001NAME=…`.

use super::super::spec::{FAMILY, SOFTWARE, Spec};
use std::io::{self, Read};

/// The field that [`identity`] finds again.
const SOURCE: &str = "LENGTHWISE_SOURCE";
/// A block of ours is shorter; a longer one is somebody else's.
const LONGEST: usize = 1 << 20;

/// The whole block with its head, marked as the last one before the sound.
pub fn block(spec: &Spec) -> Vec<u8> {
    let tags = &spec.tags;
    let mut fields = vec![("TITLE".to_owned(), tags.title.clone()), ("ALBUM".to_owned(), tags.album.clone())];
    fields.extend(tags.set.iter().map(|set| ("SUBTITLE".to_owned(), set.clone())));
    if let Some((number, of)) = tags.track {
        fields.extend([("TRACKNUMBER", number), ("TRACKTOTAL", of)].map(|(key, n)| (key.to_owned(), n.to_string())));
    }
    fields.push(("ENCODER".to_owned(), SOFTWARE.to_owned()));
    fields.push((SOURCE.to_owned(), spec.identity.clone()));
    for (number, chapter) in (1..).zip(spec.chapters()) {
        fields.push((format!("CHAPTER{number:03}"), clock(spec.milliseconds(chapter.start))));
        fields.push((format!("CHAPTER{number:03}NAME"), chapter.label.to_owned()));
    }
    fields.retain(|(_, value)| !value.is_empty());
    let mut body = text(SOFTWARE);
    // A block's size has 24 bits. What does not fit are chapters of a practice of some hundred thousand repeats.
    let mut count = 0_u32;
    let mut list = Vec::new();
    for (key, value) in &fields {
        let field = text(&format!("{key}={value}"));
        if list.len() + field.len() > LONGEST - 256 {
            break;
        }
        count += 1;
        list.extend(field);
    }
    body.extend(count.to_le_bytes());
    body.extend(list);
    let mut block = (body.len() as u32 | 0x8400_0000).to_be_bytes().to_vec();
    block.extend(body);
    block
}

fn text(text: &str) -> Vec<u8> {
    let mut bytes = (text.len() as u32).to_le_bytes().to_vec();
    bytes.extend(text.as_bytes());
    bytes
}

/// `hh:mm:ss.ttt`; hours may have more digits.
pub fn clock(milliseconds: u64) -> String {
    let (seconds, rest) = (milliseconds / 1000, milliseconds % 1000);
    format!("{:02}:{:02}:{:02}.{rest:03}", seconds / 3600, seconds / 60 % 60, seconds % 60)
}

/// The identity of our own render.
///
/// # Errors
/// Where the file ends early or cannot be read.
pub fn identity(mut file: impl Read) -> io::Result<Option<String>> {
    let mut word = [0; 4];
    file.read_exact(&mut word)?;
    if &word != b"fLaC" {
        return Ok(None);
    }
    loop {
        file.read_exact(&mut word)?;
        let head = u32::from_be_bytes(word);
        let (kind, size) = (head >> 24 & 0x7f, (head & 0x00ff_ffff) as usize);
        if size > LONGEST {
            return Ok(None);
        }
        let mut body = vec![0; size];
        file.read_exact(&mut body)?;
        if kind == 4 {
            return Ok(source(&body));
        }
        if head >> 31 == 1 {
            return Ok(None);
        }
    }
}

fn source(mut body: &[u8]) -> Option<String> {
    let ours = next(&mut body)?.starts_with(FAMILY);
    let (count, mut rest) = body.split_first_chunk()?;
    (0..u32::from_le_bytes(*count))
        .find_map(|_| next(&mut rest)?.strip_prefix(SOURCE)?.strip_prefix('=').map(str::to_owned))
        .filter(|_| ours)
}

fn next<'a>(rest: &mut &'a [u8]) -> Option<&'a str> {
    let (size, after) = rest.split_first_chunk()?;
    let (text, after) = after.split_at_checked(u32::from_le_bytes(*size) as usize)?;
    *rest = after;
    std::str::from_utf8(text).ok()
}
