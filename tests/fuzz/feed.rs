//! What the fuzzers feed the program with, and what must hold whatever they feed. The normal tests feed the seeds that
//! were kept through the same functions. How long anything takes is not looked at here: a fuzzer has its own clock.

use lengthwise::audio::clip;
use lengthwise::diag::render::render;
use lengthwise::diag::{Diagnostic, Sources, has_errors};
use lengthwise::pack::library::Library;
use lengthwise::pack::load::{Search, open};
use lengthwise::pack::manifest;
use lengthwise::plan::Plan;
use lengthwise::practice::{self, Audience, Practice};
use lengthwise::script::parse::parse;
use lengthwise::script::{Far, Script, WrittenItem};
use lengthwise::swimmer::lanes::{self, MOST_IN_A_LANE, WrittenLane};
use lengthwise::swimmer::roster::{self, KnownSwimmer, RosterForm};
use lengthwise::swimmer::{Swimmer, profile};
use lengthwise::timeline::build::build;
use lengthwise::timeline::built::Built;
use lengthwise::units::time::Seconds;
use std::sync::OnceLock;

/// No more is ever printed of a text's problems, in bytes.
const MOST_PRINTED: usize = 20_000;
/// Practices beyond this are only parsed, so that the time goes into the language and not into long swims.
const MOST_REPEATS: u64 = 300;
const LONGEST: Seconds = Seconds::from_secs(2 * 3600);

/// How far a text came.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Reached {
    /// It has errors as a script.
    Text,
    /// It parses.
    Script,
    /// It can be swum, and was laid out in time.
    Timeline,
}

fn library() -> &'static Library {
    static LIBRARY: OnceLock<Library> = OnceLock::new();
    LIBRARY.get_or_init(|| {
        let search = Search { built_in: Some("first-lengths".into()), ..Search::default() };
        open(&search, None, &mut Sources::new()).0
    })
}

/// A cue script, for headphones and for a speaker.
pub fn script(bytes: &[u8]) -> Reached {
    let Ok(text) = std::str::from_utf8(bytes) else { return Reached::Text };
    let mut sources = Sources::new();
    let source = sources.add("script.yaml", text);
    let (script, problems) = parse(source, &sources);
    assert_eq!(script.is_none(), has_errors(&problems), "a script without errors, and only such a one, is read");
    told(&problems, &sources);
    let Some(script) = script else { return Reached::Text };
    let mut reached = Reached::Script;
    if repeats(&script) > MOST_REPEATS {
        return reached;
    }
    for audience in [Audience::Headphones, Audience::Speaker, Audience::Player] {
        let swimmer = Swimmer::assumed();
        let (practice, problems) = practice::expand(&script, library(), &swimmer, audience);
        assert_eq!(
            practice.is_none(),
            has_errors(&problems),
            "a practice without errors, and only such a one, is made"
        );
        told(&problems, &sources);
        let Some(practice) = practice.filter(|practice| lasts(practice) <= LONGEST) else { continue };
        let built = build(&practice, library());
        told(&built.findings.diagnostics, &sources);
        laid_out(&practice, &built);
        let plan = Plan::of(&practice, &built, &swimmer);
        assert_eq!(plan.sets.iter().map(|set| set.repeats.len()).sum::<usize>(), built.strand.starts.len());
        reached = Reached::Timeline;
    }
    reached
}

/// A pack's manifest, and the same text as a profile.
pub fn manifest(bytes: &[u8]) -> bool {
    let Ok(text) = std::str::from_utf8(bytes) else { return false };
    let mut sources = Sources::new();
    let source = sources.add("pack.yaml", text);
    let (manifest, problems) = manifest::parse(source, &sources);
    assert!(manifest.is_some() || has_errors(&problems), "what is not read is explained");
    told(&problems, &sources);
    let (swimmer, problems) = profile::parse(source, &sources);
    assert_eq!(swimmer.is_none(), has_errors(&problems), "a profile without errors, and only such a one, is read");
    told(&problems, &sources);
    manifest.is_some()
}

/// A roster, in each of its forms.
pub fn roster(bytes: &[u8]) -> bool {
    let Ok(text) = std::str::from_utf8(bytes) else { return false };
    let mut sources = Sources::new();
    let source = sources.add("squad", text);
    let mut read = false;
    for form in [RosterForm::Yaml, RosterForm::Table] {
        let (roster, problems) = roster::parse(source, &sources, form);
        assert_eq!(roster.is_none(), has_errors(&problems), "a roster without errors, and only such a one, is read");
        told(&problems, &sources);
        let (lanes, problems) = lanes::parse(source, &sources, form);
        assert_eq!(lanes.is_none(), has_errors(&problems), "lanes without errors, and only such ones, are read");
        told(&problems, &sources);
        let crowded = |lane: &WrittenLane| lane.swimmers.is_empty() || lane.swimmers.len() > MOST_IN_A_LANE;
        assert!(!lanes.iter().flat_map(|lanes| &lanes.lanes).any(crowded), "every lane has swimmers, and not too many");
        for member in roster.iter().flat_map(|roster| &roster.members) {
            let wrong = has_errors(&member.problems);
            assert!(wrong || member.known != KnownSwimmer::Unreadable, "who cannot be read is told why");
            assert!(!member.name.is_empty());
            told(&member.problems, &sources);
            read |= !wrong;
        }
    }
    read
}

/// A recording, of any format.
pub fn clip(bytes: &[u8]) -> bool {
    let probed = clip::probe(bytes);
    let Ok(pcm) = clip::decode(bytes) else { return false };
    assert!(!pcm.is_empty());
    assert_eq!(Ok(pcm.len()), probed, "what can be decoded is as long as its header says");
    true
}

fn repeats(script: &Script) -> u64 {
    let sets =
        script.practice.iter().filter_map(|item| if let WrittenItem::Set(set) = item { Some(set) } else { None });
    let swims = sets.flat_map(|set| set.swims.iter().map(move |swim| (u64::from(set.rounds.value), swim)));
    // Length by length a distance costs as much as repeats do.
    let lengths = |far: &Far| match far {
        Far::Distances(each) => each.iter().map(|far| far.metres() as u64 / 1_000).max().unwrap_or(0),
        Far::Time(_) | Far::Course { .. } => 0,
    };
    swims.map(|(rounds, swim)| rounds * u64::from(swim.repeats.value) * (1 + lengths(&swim.far.value))).sum()
}

fn lasts(practice: &Practice) -> Seconds {
    let repeats = practice.sets().flat_map(|set| &set.repeats);
    repeats.fold(Seconds::ZERO, |sum, repeat| sum + repeat.predicted)
}

/// Every problem has a place in its text, and little is printed of all of them.
fn told(problems: &[Diagnostic], sources: &Sources) {
    for problem in problems {
        assert!(!problem.message.is_empty());
        for span in problem.span.iter().chain(problem.labels.iter().map(|(span, _)| span)) {
            let text = sources.text(span.source);
            assert!(text.get(span.start as usize..span.end as usize).is_some(), "{problem:?} lies outside its text");
        }
    }
    for width in [40, 120] {
        let printed = render(problems, sources, width == 120, width).text(true).len();
        assert!(printed < MOST_PRINTED, "{printed} bytes are printed");
    }
}

/// Legs follow each other without a gap, cues and swims in their order, and no two voices overlap.
fn laid_out(practice: &Practice, built: &Built) {
    let (mut at, mut spoken) = (Seconds::ZERO, Seconds::ZERO);
    for leg in &built.timeline.legs {
        assert_eq!(leg.origin, at, "a leg begins where the one before ends");
        assert!(leg.len >= Seconds::ZERO);
        at = leg.origin + leg.len;
        assert!(leg.cues.is_sorted_by_key(|cue| cue.at), "cues in their order");
        for cue in leg.cues.iter().filter(|cue| cue.kind.is_voice()) {
            assert!(leg.origin + cue.at >= spoken, "`{}` is spoken over another voice", cue.text);
            spoken = leg.origin + cue.at + cue.len;
        }
        for grid in &leg.grids {
            assert!(grid.beats.is_sorted_by_key(|beat| beat.k), "beats in their order");
        }
    }
    assert_eq!(built.strand.starts.len(), practice.sets().map(|set| set.repeats.len()).sum::<usize>());
    let mut touched = Seconds::ZERO;
    for swum in &built.strand.starts {
        assert!(swum.go >= touched && swum.touch > swum.go, "a start before the last touch");
        touched = swum.touch;
    }
}
