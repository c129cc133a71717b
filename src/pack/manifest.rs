//! A pack's manifest, `pack.yaml`: texts by what they are for, beat tracks, who speaks, on what terms.
//!
//! Where recordings lie is not here: a manifest names texts, and `load` finds the clips by their ids.

use crate::diag::{Code, Diagnostic, SourceId, Sources, Span, Spanned};
use crate::pack::role::Role;
use crate::script::movement::{self, DrillMovement};
use crate::script::parse::parse_beat_track;
use crate::script::quantity::{Read, count};
use crate::script::yaml::{self, Node};
use crate::script::{BeatTrack, BodyPart, tree};
use serde::Deserialize;

/// The name of a manifest in its pack's folder.
pub const FILE: &str = "pack.yaml";

/// The longest text of an entry, in characters: half a minute of speech.
const LONGEST_TEXT: usize = 400;

/// The highest version of a pack.
const HIGHEST_VERSION: u32 = 1_000_000;

const KEYS: [&str; 14] = [
    "lengthwise-pack",
    "version",
    "title",
    "language",
    "speaker",
    "licence",
    "uses",
    "beats",
    "phrases",
    "drills",
    "says",
    "titles",
    "words",
    "names",
];

/// What a drill can move; pulling is a matter of what is worn.
pub(super) const DRILL_PARTS: [(&str, BodyPart); 3] =
    [("swim", BodyPart::Swim), ("kick", BodyPart::Kick), ("scull", BodyPart::Scull)];

/// A manifest, read and checked.
#[derive(Clone, Debug, PartialEq)]
pub struct Manifest {
    /// `version` and where it stands, if it does: of two packs of a name the higher one is the newer.
    pub version: Option<Spanned<u32>>,
    /// `title`
    pub title: String,
    /// `language`, such as `en-GB`.
    pub language: String,
    /// `speaker.voice`: a name, or `synthetic`.
    pub voice: String,
    /// `speaker.agreed`: the speaker's word that the voice may be used.
    pub agreed: String,
    /// `licence`
    pub licence: String,
    /// `uses`: the packs whose entries may be used too.
    pub uses: Vec<Spanned<String>>,
    /// Every text, in the order written.
    pub entries: Vec<ManifestText>,
    /// What drills move, by their ids.
    pub movements: Vec<(String, DrillMovement)>,
    /// Drills and the phrase that each is for, in the order written.
    pub pairs: Vec<DrillPair>,
    /// `beats`
    pub beats: Vec<(Spanned<String>, BeatTrack)>,
}

/// A drill and the phrase that it is for: what the drill lets a swimmer feel, the phrase keeps in the whole stroke.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DrillPair {
    /// The drill's id.
    pub drill: String,
    /// The phrase's id.
    pub phrase: Spanned<String>,
}

/// One text of a manifest.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ManifestText {
    /// What for.
    pub role: Role,
    /// Its id, which is also the name of its recording.
    pub id: Spanned<String>,
    /// The words.
    pub full: String,
    /// The short form of a phrase, or the name of a drill.
    pub short: Option<String>,
}

impl Manifest {
    /// The version, 1 where none is written.
    pub fn version(&self) -> u32 {
        self.version.map_or(1, |version| version.value)
    }
}

/// Reads a manifest: what could be read of it, and every problem, in the order of the text.
pub fn parse(source: SourceId, sources: &Sources) -> (Option<Manifest>, Vec<Diagnostic>) {
    let (root, mut problems) = yaml::read(source, sources.text(source));
    if root.is_none() && problems.is_empty() {
        let start = Span::new(source, 0, 0);
        problems.push(
            Diagnostic::at(Code::Version, start, "the manifest is empty").hint("begin with `lengthwise-pack: 1`"),
        );
    }
    let manifest = root.and_then(|root| read(&root, &mut problems));
    problems.sort_by_key(|problem| problem.span);
    (manifest, problems)
}

/// The version that a manifest states, 1 where it states none; for a pack of which nothing else matters.
pub fn stated_version(text: &str) -> Option<u32> {
    #[derive(Deserialize)]
    struct StatedFormat {
        /// As text: it may stand in quotes.
        version: Option<String>,
    }
    let stated: StatedFormat = serde_yaml::from_str(text).ok()?;
    stated
        .version
        .map_or(Some(1), |version| version.parse().ok())
        .filter(|version| (1..=HIGHEST_VERSION).contains(version))
}

/// What means that somebody did not agree.
const NO: [&str; 7] = ["", "n", "no", "none", "not yet", "nobody", "false"];

/// The voice of packs that no person has spoken.
pub const SYNTHETIC: &str = "synthetic";

/// Whether somebody's answer to whether they agreed is more than a no.
pub fn is_word(agreed: &str) -> bool {
    !NO.contains(&agreed.trim().to_lowercase().as_str())
}

impl Manifest {
    /// Whether a person speaks in it.
    pub fn is_spoken(&self) -> bool {
        !self.voice.trim().eq_ignore_ascii_case(SYNTHETIC)
    }
}

/// Whether a text can be the id of an entry or the name of a pack: lower-case letters, digits and `-`.
pub fn is_id(text: &str) -> bool {
    !text.is_empty()
        && text.len() <= 64
        && text.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-')
}

fn read(root: &Node, problems: &mut Vec<Diagnostic>) -> Option<Manifest> {
    let fields = tree::Fields::of(root, "a pack's manifest", &KEYS, problems)?;
    format(&fields, problems);
    let version = fields.read("version", whole_version, problems);
    let text = |key, example, problems: &mut Vec<Diagnostic>| {
        fields.require(key, example, problems)?;
        fields.text(key, LONGEST_TEXT, problems).map(|text| text.value)
    };
    let title = text("title", "title: First lengths", problems);
    let language = text("language", "language: en-GB", problems);
    let licence = text("licence", "licence: MIT", problems);
    let speaker = fields
        .require("speaker", "speaker: { voice: synthetic, made-with: …, agreed: … }", problems)
        .and_then(|node| speaker(node, problems));
    let uses = fields.get("uses").map_or_else(Vec::new, |node| uses(node, problems));
    let mut found = FoundTexts::default();
    for (key, role) in Role::ALL {
        if let Some(node) = fields.get(key) {
            texts((role, key, node), &mut found, problems);
        }
    }
    let FoundTexts { entries, movements, pairs } = found;
    let mut beats = Vec::new();
    if let Some(node) = fields.get("beats") {
        for (id, node) in tree::pairs(node, "`beats`", problems).unwrap_or_default() {
            check_id(id, problems);
            if let Some(track) = parse_beat_track(node, problems) {
                beats.push((id.clone(), track));
            }
        }
    }
    let (voice, agreed) = speaker.unwrap_or_default();
    Some(Manifest {
        version,
        title: title.unwrap_or_default(),
        language: language.unwrap_or_default(),
        voice,
        agreed,
        licence: licence.unwrap_or_default(),
        uses,
        entries,
        movements,
        pairs,
        beats,
    })
}

#[expect(clippy::expect_used, reason = "the highest version fits")]
fn whole_version(text: &str) -> Read<u32> {
    let version = count::whole(text, "`version`", 1..=u64::from(HIGHEST_VERSION))?;
    Ok(u32::try_from(version).expect("a version is at most HIGHEST_VERSION"))
}

fn format(fields: &tree::Fields<'_>, problems: &mut Vec<Diagnostic>) {
    let Some(node) = fields.require("lengthwise-pack", "lengthwise-pack: 1", problems) else { return };
    let found = fields.text("lengthwise-pack", 20, problems);
    if let Some(found) = found.filter(|found| found.value != "1") {
        let message = format!("the manifest is of format `{}`; this program reads format 1", found.value);
        problems.push(Diagnostic::at(Code::Version, node.span, message).hint("write `lengthwise-pack: 1`"));
    }
}

/// `speaker`: whose voice it is, and the word that it may be used. All three keys are asked for, so that nobody is
/// recorded unasked.
fn speaker(node: &Node, problems: &mut Vec<Diagnostic>) -> Option<(String, String)> {
    let fields = tree::Fields::of(node, "`speaker`", &["voice", "made-with", "agreed"], problems)?;
    let mut text = |key, example| {
        fields.require(key, example, problems)?;
        fields.text(key, LONGEST_TEXT, problems).map(|text| text.value)
    };
    let voice = text("voice", "voice: synthetic");
    text("made-with", "made-with: a phone");
    let agreed = text("agreed", "agreed: \"yes, in writing\"");
    Some((voice.unwrap_or_default(), agreed.unwrap_or_default()))
}

fn uses(node: &Node, problems: &mut Vec<Diagnostic>) -> Vec<Spanned<String>> {
    let mut found = Vec::new();
    for item in tree::list(node, "uses", problems).unwrap_or_default() {
        if let Some(name) = tree::text(item, "uses", 64, problems)
            && check_id(&name, problems)
        {
            found.push(name);
        }
    }
    found
}

/// What the maps of texts hold.
#[derive(Default)]
struct FoundTexts {
    entries: Vec<ManifestText>,
    movements: Vec<(String, DrillMovement)>,
    pairs: Vec<DrillPair>,
}

fn texts((role, key, node): (Role, &str, &Node), found: &mut FoundTexts, problems: &mut Vec<Diagnostic>) {
    for (id, node) in tree::pairs(node, &format!("`{key}`"), problems).unwrap_or_default() {
        check_id(id, problems);
        let text = match role {
            Role::Phrase => phrase(node, problems),
            Role::Drill => drill(node, problems).map(|WrittenDrill { how, short, movement, phrase }| {
                found.movements.push((id.value.clone(), movement));
                found.pairs.extend(phrase.map(|phrase| DrillPair { drill: id.value.clone(), phrase }));
                (how, short)
            }),
            _ => tree::text(node, &id.value, LONGEST_TEXT, problems).map(|text| (text.value, None)),
        };
        if let Some((full, short)) = text {
            found.entries.push(ManifestText { role, id: id.clone(), full, short });
        }
    }
}

/// How a drill is swum, its name in short, what it moves, and the phrase that it is for.
struct WrittenDrill {
    how: String,
    short: Option<String>,
    movement: DrillMovement,
    phrase: Option<Spanned<String>>,
}

/// Reads a drill. It takes its `part`'s own time unless `time` says another.
fn drill(node: &Node, problems: &mut Vec<Diagnostic>) -> Option<WrittenDrill> {
    let fields = tree::Fields::of(node, "a drill", &["how", "short", "part", "time", "for"], problems)?;
    let short = fields.text("short", LONGEST_TEXT, problems).map(|short| short.value);
    let part = fields.word("part", &DRILL_PARTS, problems).map_or(BodyPart::Swim, |part| part.value);
    let time = fields.read("time", movement::factor, problems).map(|time| time.value);
    fields.require("how", "how: \"Fist drill. Hands closed.\"", problems)?;
    let phrase = fields.text("for", 64, problems).filter(|phrase| check_id(phrase, problems));
    let how = fields.text("how", LONGEST_TEXT, problems)?.value;
    let movement = DrillMovement { part, time: time.unwrap_or(DrillMovement::usual_time(part)) };
    Some(WrittenDrill { how, short, movement, phrase })
}

fn phrase(node: &Node, problems: &mut Vec<Diagnostic>) -> Option<(String, Option<String>)> {
    let fields = tree::Fields::of(node, "a phrase", &["full", "short"], problems)?;
    fields.require("full", "full: reach forward", problems)?;
    let short = fields.text("short", LONGEST_TEXT, problems).map(|text| text.value);
    Some((fields.text("full", LONGEST_TEXT, problems)?.value, short))
}

fn check_id(id: &Spanned<String>, problems: &mut Vec<Diagnostic>) -> bool {
    let good = is_id(&id.value);
    if !good {
        let message = format!("`{}` cannot be a name: it names a file too", id.value);
        problems.push(
            Diagnostic::at(Code::BadValue, id.span, message)
                .hint("use lower-case letters, digits and `-`, at most 64, such as `reach-forward`"),
        );
    }
    good
}

#[cfg(test)]
mod tests {
    use super::*;

    const GOOD: &str = "\
lengthwise-pack: 1
title: First lengths
language: en-GB
speaker: { voice: synthetic, made-with: a model, agreed: nobody's needed }
licence: MIT
uses: [announcer]
phrases:
  reach-forward: { full: reach forward, short: reach }
drills:
  fist: { how: \"Fist drill. Hands closed.\", for: reach-forward }
  side-kick: { how: \"Side kick.\", part: kick }
  slow: { how: \"Slow.\", short: slow, time: 1.4 }
says: { welcome: \"Welcome.\" }
titles: { easy-start: Easy start }
words: { n-1: one, no: no, n-10: 10 }
beats:
  thirds: { sound: wood, every: stroke, accent: { every: 3, sound: bell } }
";

    fn run(text: &str) -> (Option<Manifest>, Vec<(&'static str, usize, String)>) {
        let mut sources = Sources::new();
        let source = sources.add("pack.yaml", text);
        let (manifest, problems) = parse(source, &sources);
        let seen =
            problems.iter().map(|p| (p.code.word(), p.span.map_or(0, |span| sources.place(span).0), p.message.clone()));
        (manifest, seen.collect())
    }

    #[test]
    fn a_manifest_is_read_as_written() {
        let (manifest, problems) = run(GOOD);
        assert!(problems.is_empty(), "{problems:?}");
        let manifest = manifest.unwrap();
        assert_eq!((manifest.title.as_str(), manifest.voice.as_str()), ("First lengths", "synthetic"));
        assert_eq!((manifest.version(), manifest.agreed.as_str()), (1, "nobody's needed"));
        assert_eq!(manifest.uses[0].value, "announcer");
        let texts: Vec<_> = manifest.entries.iter().map(|e| (e.role, e.id.value.as_str(), e.full.as_str())).collect();
        assert_eq!(texts[0], (Role::Phrase, "reach-forward", "reach forward"));
        assert_eq!(manifest.entries[0].short.as_deref(), Some("reach"));
        // Texts stay texts, whatever YAML would make of them.
        assert_eq!(texts[7..], [(Role::Word, "no", "no"), (Role::Word, "n-10", "10")]);
        assert_eq!(manifest.beats[0].1.accent.unwrap().0, 3);
        let pairs: Vec<_> = manifest.pairs.iter().map(|p| (p.drill.as_str(), p.phrase.value.as_str())).collect();
        assert_eq!(pairs, [("fist", "reach-forward")]);
        let moved: Vec<_> =
            manifest.movements.iter().map(|(id, moved)| (id.as_str(), moved.part, moved.time)).collect();
        assert_eq!(
            moved,
            [("fist", BodyPart::Swim, 125), ("side-kick", BodyPart::Kick, 160), ("slow", BodyPart::Swim, 140)]
        );
    }

    #[test]
    fn a_version_is_a_whole_number() {
        let with = |version: &str| run(&GOOD.replace("title:", &format!("version: {version}\ntitle:")));
        assert_eq!(with("12").0.unwrap().version(), 12);
        let stated = |version: &str| stated_version(&GOOD.replace("title:", &format!("version: {version}\ntitle:")));
        assert_eq!((stated("12"), stated("'7'"), stated_version(GOOD)), (Some(12), Some(7), Some(1)));
        for wrong in ["0", "1.5", "v2", "-1", "1000001", "99999999999999999999"] {
            let (_, problems) = with(wrong);
            assert_eq!(problems.iter().map(|p| p.1).collect::<Vec<_>>(), [2], "{wrong}: {problems:?}");
            assert_eq!(stated(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn every_mistake_is_found_in_one_run() {
        let bad = GOOD
            .replace("lengthwise-pack: 1", "lengthwise-pack: 2")
            .replace("licence: MIT\n", "")
            .replace("agreed: nobody's needed", "agred: yes")
            .replace("[announcer]", "[../../etc]")
            .replace("short: reach", "shrt: reach")
            .replace("fist: {", "Fist drill: {")
            .replace("sound: wood", "sound: woood")
            .replace("titles:", "title-s:");
        let (_, problems) = run(&bad);
        let codes: Vec<_> = problems.iter().map(|(code, line, _)| (*code, *line)).collect();
        for expected in [
            ("version", 1),
            ("missing-key", 1),
            ("unknown-key", 4),
            ("bad-value", 5),
            ("unknown-key", 7),
            ("bad-value", 9),
            ("unknown-key", 13),
            ("bad-value", 16),
        ] {
            assert!(codes.contains(&expected), "{expected:?} not in {problems:#?}");
        }
    }

    #[test]
    fn hostile_manifests_do_not_panic() {
        for text in
            ["", "[]", "- - -", "phrases: 3", "phrases: [a]", "speaker: x", "beats: { a: 1 }", "{", "\0", "uses: x"]
        {
            assert!(!run(text).1.is_empty(), "{text:?}");
        }
    }
}
