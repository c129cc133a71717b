//! What an MP3 says of itself: an ID3v2.4 tag with a chapter for each marker (CHAP and CTOC, the chapter frame addendum of
//! 2005), by the crate id3.

use super::super::spec::{FAMILY, SOFTWARE, Spec};
use id3::frame::{Chapter, Content, ExtendedText, Frame, TableOfContents};
use id3::{Encoder, Tag, TagLike, Version};
use std::io::{self, Cursor, Read};

/// The description of the text that [`identity`] finds again.
const SOURCE: &str = "LENGTHWISE_SOURCE";
/// A table of contents counts its entries in a byte.
const MOST: usize = 255;
/// A tag of ours is shorter; of a longer one only this much is looked at.
const LONGEST: u64 = 1 << 22;

/// The whole tag.
///
/// # Errors
/// Where it cannot be put into bytes.
pub fn block(spec: &Spec) -> io::Result<Vec<u8>> {
    let mut tag = Tag::new();
    let tags = &spec.tags;
    let set = tags.set.clone().unwrap_or_default();
    let track = tags.track.map_or(String::new(), |(number, of)| format!("{number}/{of}"));
    for (id, text) in
        [("TIT2", &tags.title), ("TIT3", &set), ("TALB", &tags.album), ("TRCK", &track), ("TSSE", &SOFTWARE.to_owned())]
    {
        if !text.is_empty() {
            tag.set_text(id, text);
        }
    }
    if !spec.identity.is_empty() {
        tag.add_frame(ExtendedText { description: SOURCE.to_owned(), value: spec.identity.clone() });
    }
    let chapters: Vec<Chapter> = (1..).zip(spec.chapters()).map(|(number, of)| chapter(spec, number, of)).collect();
    let names: Vec<String> = chapters.iter().map(|chapter| chapter.element_id.clone()).collect();
    contents(&names).into_iter().for_each(|table| drop(tag.add_frame(table)));
    chapters.into_iter().for_each(|chapter| drop(tag.add_frame(chapter)));
    let mut bytes = Vec::new();
    Encoder::new().version(Version::Id3v24).encode(&tag, &mut bytes).map_err(io::Error::other)?;
    Ok(bytes)
}

fn chapter(spec: &Spec, number: usize, of: super::super::spec::Chapter<'_>) -> Chapter {
    // The field ends after 49 days.
    let [start_time, end_time] =
        [of.start, of.end].map(|frame| u32::try_from(spec.milliseconds(frame)).unwrap_or(u32::MAX));
    let title = (!of.label.is_empty()).then(|| Frame::with_content("TIT2", Content::Text(of.label.to_owned())));
    Chapter {
        element_id: format!("ch{number}"),
        start_time,
        end_time,
        // Times count, not bytes.
        start_offset: u32::MAX,
        end_offset: u32::MAX,
        frames: title.into_iter().collect(),
    }
}

/// The table of all chapters; of many, a table of tables.
fn contents(names: &[String]) -> Vec<TableOfContents> {
    let table = |element_id: String, top_level, elements: &[String]| TableOfContents {
        element_id,
        top_level,
        ordered: true,
        elements: elements.to_vec(),
        frames: Vec::new(),
    };
    match names.len() {
        0 => Vec::new(),
        1..=MOST => vec![table("toc".to_owned(), true, names)],
        _ => {
            let parts: Vec<_> =
                (1..).zip(names.chunks(MOST)).map(|(n, part)| table(format!("toc{n}"), false, part)).collect();
            let ids: Vec<_> = parts.iter().take(MOST).map(|part| part.element_id.clone()).collect();
            [table("toc".to_owned(), true, &ids)].into_iter().chain(parts).collect()
        }
    }
}

/// The identity of our own render.
///
/// # Errors
/// Where the file ends early or cannot be read.
pub fn identity(file: impl Read) -> io::Result<Option<String>> {
    let mut head = Vec::new();
    file.take(LONGEST).read_to_end(&mut head)?;
    let Ok(tag) = Tag::read_from2(Cursor::new(head)) else { return Ok(None) };
    let ours = tag.get("TSSE").and_then(|frame| frame.content().text()).is_some_and(|text| text.starts_with(FAMILY));
    let source = tag.extended_texts().find(|text| text.description == SOURCE).map(|text| text.value.clone());
    Ok(source.filter(|_| ours))
}
