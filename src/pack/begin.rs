//! A new pack as texts: a manifest full of comments, with the words of other packs taken over where that is wanted, and a
//! first script. No file is written here.

use crate::diag::{Diagnostic, Sources};
use crate::pack::manifest::{self, DRILL_PARTS, Manifest, ManifestText};
use crate::pack::role::Role;
use crate::script::BodyPart;
use crate::script::movement::DrillMovement;
use std::collections::BTreeSet;
use std::fmt::{self, Write};

/// What a new pack says of itself.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PackDetails {
    /// Its title.
    pub title: String,
    /// Its language, such as `en-GB`.
    pub language: String,
    /// On what terms it may be used.
    pub licence: String,
    /// Whose voice it is.
    pub voice: String,
    /// What that person agreed to, and when.
    pub agreed: String,
    /// The guardian who agreed, where the speaker is a child.
    pub guardian: Option<String>,
}

/// The texts of a pack, to be said in another voice.
#[derive(Clone, Debug, PartialEq)]
pub struct Taken<'a> {
    /// The pack's name.
    pub name: &'a str,
    /// Its manifest.
    pub manifest: &'a Manifest,
    /// Whether the new pack finds it by its name, and can use what it has.
    pub found: bool,
}

/// The files of a new pack.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PackDraft {
    /// Its manifest.
    pub manifest: String,
    /// Its first script.
    pub script: String,
}

/// What is wanted of a pack and cannot stand in a manifest.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unfit(Diagnostic);

impl fmt::Display for Unfit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0.message)?;
        self.0.hint.as_ref().map_or(Ok(()), |hint| write!(f, "; {hint}"))
    }
}

impl std::error::Error for Unfit {}

impl Unfit {
    /// What a reader says of it.
    pub const fn of(problem: Diagnostic) -> Self {
        Self(problem)
    }
}

/// Writes the texts of a new pack.
///
/// # Errors
/// Where what is wanted cannot stand in a manifest, such as a voice's name of a thousand letters.
pub fn begin(wanted: &PackDetails, taken: &[Taken<'_>]) -> Result<PackDraft, Unfit> {
    let has_phrases = taken.iter().any(|pack| pack.manifest.entries.iter().any(|text| text.role == Role::Phrase));
    let manifest = format!("{}{}", head(wanted, taken), body(taken, has_phrases));
    let mut sources = Sources::new();
    let source = sources.add(manifest::FILE, manifest.as_str());
    let (read, problems) = manifest::parse(source, &sources);
    if let Some(problem) = problems.first() {
        return Err(Unfit(problem.clone()));
    }
    let texts = read.map(|read| read.entries).unwrap_or_default();
    let phrases: Vec<&str> =
        texts.iter().filter(|text| text.role == Role::Phrase).map(|text| text.id.value.as_str()).take(2).collect();
    Ok(PackDraft { script: script(&wanted.title, &phrases), manifest })
}

/// A text as a YAML scalar in quotes, whatever is in it: a string of JSON is one.
fn quoted(text: &str) -> String {
    // A manifest is one line a value.
    serde_json::Value::from(text.replace(char::is_control, " ")).to_string()
}

fn head(wanted: &PackDetails, taken: &[Taken<'_>]) -> String {
    let PackDetails { title, language, licence, voice, agreed, guardian } = wanted;
    let word = match guardian {
        None => format!("{voice} agreed: {agreed}"),
        Some(guardian) => format!("{guardian} agreed as the guardian of {voice}, a child: {agreed}"),
    };
    let mut uses: Vec<&str> = taken.iter().filter(|pack| pack.found).map(|pack| pack.name).collect();
    if uses.is_empty() {
        uses.push("first-lengths");
    }
    let mut seen = BTreeSet::new();
    uses.retain(|name| seen.insert(*name));
    format!(
        "\
# A cue pack: what can be said, in whose voice. Lines that begin with # are for you. After a change ask what it comes to:
#   lengthwise pack check THIS-FOLDER
#   lengthwise record THIS-FOLDER        speak what is missing
lengthwise-pack: 1                # the version of the format: always the first line
version: 1                        # raise it whenever you pass the pack on anew
title: {title}
language: {language}

# Whose voice it is, and the word that it may be used. It goes wherever the pack goes; a first name is enough.
speaker:
  voice: {voice}
  made-with: \"lengthwise record\"
  agreed: {word}
licence: {licence}

# Packs whose beat tracks, and whose recordings of the same words, are used as long as this one has none of its own.
uses: [{uses}]
",
        title = quoted(title),
        language = quoted(language),
        voice = quoted(voice),
        word = quoted(&word),
        licence = quoted(licence),
        uses = uses.join(", "),
    )
}

/// What each section holds, for its head.
const fn about(role: Role) -> &'static str {
    match role {
        Role::Phrase => {
            "Focus phrases. Full: before the go, at most five words, under 2.5 s. Short: while swimming, one or two words, under 1 s."
        }
        Role::Drill => "Drills: how to swim each, said before its set; `short`, its name, once that has been said.",
        Role::Say => "What `- say: welcome` says.",
        Role::Title => "Titles of sets: said where a set's title is this text.",
        Role::Word => {
            "The announcer's words. Their ids are fixed, since the program asks for them by name; the text may be changed."
        }
        Role::Name => "Swimmers' names, said to each of a squad. A child's name needs a guardian's word.",
    }
}

/// What a pack begins with that takes nothing over.
const OWN: &str = "
# Focus phrases. Full: before the go, at most five words, under 2.5 s. Short: while swimming, one or two words, under 1 s.
# Say what to notice, in plain words, one thing at a time.
phrases:
  quiet-hands: { full: quiet hands going in, short: quiet hands }
  past-the-hips: { full: push past the hips, short: past the hips }

# Drills: how to swim each, said before its set.
#drills:
#  tap-and-go: { how: \"Tap and go. Tap your hip with each hand before it comes forward.\", short: tap and go }

# What `- say: hello` says.
says:
  hello: \"Good evening. Nothing is in a hurry today.\"

# Titles of sets: said where a set's title is this text.
titles:
  easy-start: Easy start
  one-thing: One thing at a time

# Swimmers' names, said to each of a squad. A child's name needs a guardian's word.
#names:
#  ida: Ida
";

fn body(taken: &[Taken<'_>], has_phrases: bool) -> String {
    let mut body = String::new();
    if !has_phrases {
        // Only its phrases are needed for the first script; the rest would be twice where a pack's is taken over.
        let end = if taken.is_empty() { OWN.len() } else { OWN.find("\n# Drills").unwrap_or(OWN.len()) };
        body.push_str(OWN.get(..end).unwrap_or(OWN));
    }
    for (key, role) in Role::ALL {
        let mut seen = BTreeSet::new();
        let mut section = String::new();
        for pack in taken {
            let texts: Vec<&ManifestText> = pack
                .manifest
                .entries
                .iter()
                .filter(|text| text.role == role && seen.insert(text.id.value.clone()))
                .collect();
            if !texts.is_empty() {
                // Writing to a text cannot fail.
                let _ = writeln!(section, "  # From {}.", pack.name);
            }
            for text in texts {
                let _ = writeln!(section, "  {}: {}", text.id.value, value(text, pack.manifest));
            }
        }
        if !section.is_empty() {
            let _ = write!(body, "\n# {}\n{key}:\n{section}", about(role));
        }
    }
    body
}

fn value(text: &ManifestText, Manifest { entries, movements, pairs, .. }: &Manifest) -> String {
    let key = match text.role {
        Role::Phrase => "full",
        Role::Drill => "how",
        _ => return quoted(&text.full),
    };
    let mut keys = vec![format!("{key}: {}", quoted(&text.full))];
    keys.extend(text.short.as_ref().map(|short| format!("short: {}", quoted(short))));
    if let Some((_, movement)) = movements.iter().find(|(id, _)| text.role == Role::Drill && *id == text.id.value) {
        let part = DRILL_PARTS.iter().find(|(_, part)| *part == movement.part && *part != BodyPart::Swim);
        keys.extend(part.map(|(word, _)| format!("part: {word}")));
        if *movement != DrillMovement::of(movement.part) {
            keys.push(format!("time: {}.{:02}", movement.time / 100, movement.time % 100));
        }
        // What is in another pack need not be in the new one.
        let here = |id: &str| entries.iter().any(|entry| entry.role == Role::Phrase && entry.id.value == id);
        let pair = pairs.iter().find(|pair| pair.drill == text.id.value && here(&pair.phrase.value));
        keys.extend(pair.map(|pair| format!("for: {}", pair.phrase.value)));
    }
    format!("{{ {} }}", keys.join(", "))
}

fn script(title: &str, phrases: &[&str]) -> String {
    format!(
        "\
# A first practice with the phrases of this pack, to hear them. Change anything, then
#   lengthwise check THIS-FILE          the plan, and everything that does not fit
#   lengthwise render THIS-FILE         the sound file for the pool
# Never swim alone: a lifeguard or a responsible watcher sees you.
lengthwise: 1
title: {title}
pool: 25 m
# No `pack:` is named, so it is the one that this file lies in.
practice:
  - set: Easy start
    phase: warm-up
    swim: 4 x 25 m
    rest: 30 s
    effort: easy

  - set: One thing at a time
    phase: main
    swim: 4 x 50 m
    rest: 30 s
    focus: {{ phrases: [{phrases}], change: repeat }}
",
        title = quoted(title),
        phrases = phrases.join(", "),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pack::shelf::Shelf;

    fn wanted() -> PackDetails {
        PackDetails {
            title: "Mara's \"own\" \\ words: #1".into(),
            language: "en-GB".into(),
            licence: "for this club".into(),
            voice: "Mara: Q.".into(),
            agreed: "on 3 May, { for } this 'club'\n- x".into(),
            guardian: None,
        }
    }

    fn read(begun: &PackDraft) -> Manifest {
        let mut sources = Sources::new();
        let source = sources.add("pack.yaml", begun.manifest.as_str());
        let (manifest, problems) = manifest::parse(source, &sources);
        assert_eq!(problems, []);
        manifest.unwrap()
    }

    #[test]
    fn whatever_is_said_of_it_comes_back() {
        let manifest = read(&begin(&wanted(), &[]).unwrap());
        assert_eq!((manifest.title, manifest.voice), (wanted().title, wanted().voice));
        assert_eq!(manifest.agreed, "Mara: Q. agreed: on 3 May, { for } this 'club' - x");
        assert_eq!(manifest.entries.len(), 5);
        let child = PackDetails { voice: "Pim".into(), guardian: Some("Ada".into()), agreed: "yes".into(), ..wanted() };
        assert_eq!(read(&begin(&child, &[]).unwrap()).agreed, "Ada agreed as the guardian of Pim, a child: yes");
        let long = PackDetails { voice: "M".repeat(500), ..wanted() };
        assert!(begin(&long, &[]).unwrap_err().to_string().contains("voice"));
    }

    #[test]
    fn the_texts_of_packs_are_taken_over() {
        let shelf = Shelf::default();
        for names in [&["first-lengths"][..], &["announcer"], &["tempo-range", "first-lengths", "tempo-range"]] {
            let opened: Vec<_> = names.iter().map(|name| shelf.open(name).unwrap()).collect();
            let taken: Vec<Taken<'_>> = opened
                .iter()
                .map(|pack| Taken { name: &pack.name, manifest: pack.manifest.as_ref().unwrap(), found: true })
                .collect();
            let begun = begin(&wanted(), &taken).unwrap();
            let manifest = read(&begun);
            for pack in &opened {
                for text in &pack.manifest.as_ref().unwrap().entries {
                    let same = |own: &&ManifestText| own.role == text.role && own.id.value == text.id.value;
                    let own = manifest.entries.iter().find(same).unwrap();
                    // Of two packs the first one's words count.
                    assert!(pack.name != names[0] || (own.full == text.full && own.short == text.short));
                }
            }
            assert!(begun.script.contains("focus: { phrases: ["), "{}", begun.script);
        }
    }
}
