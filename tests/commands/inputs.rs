//! What a render is made from is never written over, with `--force` neither, by whatever name it is called.

#![cfg(unix)]

use crate::material::script;
use crate::run::{Ran, Run};
use crate::zip::wav;

const MANIFEST: &str = "lengthwise-pack: 1\ntitle: Own\nlanguage: en-GB\nlicence: CC0\n\
    speaker: { voice: Mara Quist, made-with: a telephone, agreed: \"yes, on 3 May\" }\n\
    phrases:\n  look-down: { full: look down at the tiles, short: look down }\n";
const PROFILE: &str = "lengthwise-profile: 1\nname: Ida\npool: 25 m\nstroke:\n  - { tempo: 1.30 s, count: 18 }\n";
const ROSTER: &str =
    "lengthwise-roster: 1\ntitle: Lanes\npool: 25 m\nswimmers:\n  - { name: Ida, profile: ida.yaml }\n";

fn tree() -> Ran {
    let practice =
        script("  - { set: One, swim: 25 m, effort: easy, focus: look-down }\n").replace("first-lengths", "own");
    let run = Run::new("check a.yaml --no-speech").file("a.yaml", practice).file("ida.yaml", PROFILE);
    let run = run.file("roster.yaml", ROSTER).file("own/pack.yaml", MANIFEST);
    let ran = run.file("own/clips/phrases/look-down.wav", wav(12_000, 210.0)).run();
    std::os::unix::fs::symlink("a.yaml", ran.path("link.wav")).unwrap();
    std::fs::hard_link(ran.path("ida.yaml"), ran.path("second.wav")).unwrap();
    // Where the roster's and the player's files would come.
    std::fs::create_dir_all(ran.path("squad/Ida")).unwrap();
    std::fs::hard_link(ran.path("roster.yaml"), ran.path("squad/Ida/a.wav")).unwrap();
    std::fs::create_dir_all(ran.path("tracks")).unwrap();
    std::fs::hard_link(ran.path("own/clips/phrases/look-down.wav"), ran.path("tracks/01 One.wav")).unwrap();
    std::fs::hard_link(ran.path("own/pack.yaml"), ran.path("part 01 One.wav")).unwrap();
    ran
}

#[test]
fn nothing_that_is_read_is_written_over() {
    let ran = tree();
    let names = ["a.yaml", "ida.yaml", "roster.yaml", "own/pack.yaml", "own/clips/phrases/look-down.wav"];
    let files = || names.map(|name| std::fs::read(ran.path(name)).unwrap());
    let before = files();
    let render = "render a.yaml --rate 8000 --no-speech --format wav --force";
    for (args, said) in [
        ("-o a.yaml", "a.yaml is not overwritten"),
        ("-o ./own/../a.yaml", "it is a.yaml"),
        ("-o link.wav", "link.wav is not overwritten"),
        ("-o out.wav --captions=a.yaml", "a.yaml is not overwritten"),
        ("--swimmer ida.yaml -o ida.yaml", "ida.yaml is not overwritten"),
        ("--swimmer ida.yaml -o second.wav", "second.wav is not overwritten"),
        ("-o own/pack.yaml", "own/pack.yaml is not overwritten"),
        ("-o own/clips/phrases/look-down.wav", "look-down.wav is not overwritten"),
        ("--player tracks", "tracks/01 One.wav is not overwritten"),
        ("--split set -o part.wav", "part 01 One.wav is not overwritten"),
        ("--roster roster.yaml -o squad", "squad/Ida/a.wav is not overwritten"),
    ] {
        // Of a squad the reason stands in the table of results.
        let ran = ran.then(&format!("{render} {args}")).exit(3).run();
        assert!(format!("{}{}", ran.stdout, ran.stderr).contains(said), "{args}: {}{}", ran.stdout, ran.stderr);
        assert!(files() == before, "{args} changed something");
    }
    for (args, said) in [
        ("pack say look-down --packs . --pack own -o own/clips/phrases/look-down.wav --force", "is not overwritten"),
        ("play a.yaml --dry-run --no-speech --record a.yaml", "a.yaml"),
        ("play a.yaml --dry-run --no-speech -o own/clips/phrases/look-down.wav", "is not overwritten"),
    ] {
        ran.then(args).exit(3).stderr(said).run();
        assert!(files() == before, "{args} changed something");
    }
}
