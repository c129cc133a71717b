//! A pack made into one file and opened again: the program from end to end, and other tools on its files.

use crate::honest::{SCRIPT, files, manifest};
use crate::material::names;
use crate::run::{Ran, Run};
use crate::zip::{Entry, pack, sum, wav};
use std::fs;
use std::path::Path;
use std::process::Command;

/// A run in a folder that holds the pack's folder, and beside its parts what does not belong to it.
fn with_pack(args: &str) -> Run {
    let run =
        files(1).into_iter().fold(Run::new(args), |run, (path, bytes)| run.file(&format!("lane-three/{path}"), bytes));
    run.file("lane-three/pack.yaml", manifest_text("# mine\n"))
        .file("lane-three/notes.txt", "call Mara")
        .file("lane-three/.git/config", "secret")
        .file("lane-three/earlier/look-down.wav", wav(3_000, 200.0))
        .file("lane-three/clips/phrases/look-down.mp3", "an older one, not heard")
        .file("lane-three/clips/phrases/of-no-entry.wav", wav(3_000, 200.0))
}

/// The manifest without its version, and something more at the end.
fn manifest_text(more: &str) -> String {
    String::from_utf8(manifest(1)).unwrap().replace("version: 1\n", "") + more
}

/// What another tool says of a file in a folder, if it is there; where `CI` is set it must be.
#[expect(clippy::print_stderr, reason = "a test that skips says so")]
fn other_tool(folder: &Path, tool: &str, args: &[&str]) -> Option<(bool, String)> {
    match Command::new(tool).args(args).current_dir(folder).output() {
        Ok(output) => Some((output.status.success(), String::from_utf8_lossy(&output.stdout).into_owned())),
        Err(error) => {
            assert!(std::env::var_os("CI").is_none(), "{tool} is missing: {error}");
            eprintln!("skipped: {tool} is not installed");
            None
        }
    }
}

#[test]
fn a_pack_goes_into_a_file_and_comes_out_the_same() {
    let ran = with_pack("pack bundle lane-three")
        .stdout("lane-three-v1.zip written")
        .stdout("lane-three, version 1 · 1 script · 2 focus phrases · 2 recordings")
        .stdout("Voice: Mara Quist; yes, on 3 May")
        .stdout("Licence: CC0")
        .stdout("Left out, as no part of the pack: .git/, clips/phrases/look-down.mp3, clips/phrases/of-no-entry.wav, earlier/, notes.txt")
        .run();
    let opened = ran
        .then("pack open lane-three-v1.zip")
        .stdout("lane-three, version 1: Tuesday lane\nopened into ")
        .stdout("1 script · 2 focus phrases · 2 recordings\nVoice: Mara Quist; yes, on 3 May\nLicence: CC0")
        .stdout("lengthwise render SCRIPT --voice-from lane-three")
        .stdout("lengthwise render lane-three/tuesday\n")
        .run();
    let place = opened.path(".local/share/lengthwise/packs/lane-three");
    assert_eq!(names(&place), ["SHA256SUMS", "clips", "pack.yaml", "tuesday.yaml"]);
    for path in ["pack.yaml", "tuesday.yaml", "clips/phrases/look-down.wav", "clips/phrases/look-down.short.wav"] {
        let here = fs::read(ran.path("lane-three").join(path)).unwrap();
        assert!(fs::read(place.join(path)).unwrap() == here, "{path}");
    }
    ran.then("pack open lane-three-v1.zip").stdout("is there already, the same in every file").run();
    // From there it is used by its name: its scripts, and its voice in any other.
    ran.then("check lane-three/tuesday").stdout("Tuesday").run();
    let json = ran.then("check lane-three/tuesday.yaml --json --no-speech").run().json();
    assert_eq!(json["title"], "Tuesday");
    ran.then("check first-lengths/level-body --voice-from lane-three").stdout("Level body").run();
    ran.then("check lane-three/wednesday").exit(3).stderr("lane-three/wednesday").run();
    ran.then("check lane-three/../../x").exit(3).run();
    // A pack that was opened can be passed on by its name, and is the same file.
    fs::rename(ran.path("lane-three"), ran.path("old")).unwrap();
    ran.then("pack bundle lane-three").stdout("is there already, with the same content").run();
}

#[test]
fn a_bundle_is_the_same_bytes_whatever_the_file_system_says() {
    let first = with_pack("pack bundle lane-three --json").run();
    let json = first.json();
    let bytes = fs::read(first.path("lane-three-v1.zip")).unwrap();
    assert_eq!((json["sha256"].as_str().unwrap(), json["written"].as_bool()), (sum(&bytes).as_str(), Some(true)));
    assert_eq!((json["pack"]["voice"].as_str(), json["left_out"].as_array().unwrap().len()), (Some("Mara Quist"), 5));
    // Another folder, made in another order, of other times and modes.
    let second = files(1).into_iter().rev().fold(Run::new("pack bundle lane-three -o b.zip"), |run, (path, bytes)| {
        run.file(&format!("lane-three/{path}"), bytes)
    });
    let second = second.file("lane-three/pack.yaml", manifest_text("# mine\n"));
    #[cfg(unix)]
    let second = {
        use std::os::unix::fs::PermissionsExt;
        let second = second.file("dummy", "");
        let folder = second.command().get_current_dir().unwrap().to_owned();
        let path = folder.join("lane-three/tuesday.yaml");
        fs::set_permissions(&path, fs::Permissions::from_mode(0o700)).unwrap();
        fs::File::options().append(true).open(&path).unwrap().set_modified(std::time::UNIX_EPOCH).unwrap();
        second
    };
    let second = second.run();
    assert!(fs::read(second.path("b.zip")).unwrap() == bytes);
}

#[test]
fn other_tools_read_it() {
    let ran = with_pack("pack bundle lane-three -o sent.zip").run();
    let folder = ran.path("");
    if let Some((good, said)) = other_tool(&folder, "unzip", &["-t", "sent.zip"]) {
        assert!(good && said.contains("No errors detected"), "{said}");
    }
    let program = "import zipfile; z = zipfile.ZipFile('sent.zip'); assert z.testzip() is None; z.extractall('out'); print(*z.namelist(), sep='\\n')";
    if let Some((good, said)) = other_tool(&folder, "python3", &["-c", program]) {
        assert!(good, "{said}");
        let expected = [
            "SHA256SUMS",
            "clips/phrases/look-down.short.wav",
            "clips/phrases/look-down.wav",
            "pack.yaml",
            "tuesday.yaml",
        ];
        assert!(said.lines().eq(expected.map(|path| format!("lane-three/{path}"))), "{said}");
        let out = folder.join("out/lane-three");
        assert_eq!(fs::read_to_string(out.join("tuesday.yaml")).unwrap(), SCRIPT);
        if let Some((good, said)) = other_tool(&out, "sha256sum", &["--strict", "-c", "SHA256SUMS"]) {
            assert!(good && said.matches(": OK").count() == 4, "{said}");
            fs::write(out.join("tuesday.yaml"), "lengthwise: 1\n").unwrap();
            let (good, _) = other_tool(&out, "sha256sum", &["--strict", "-c", "SHA256SUMS"]).unwrap();
            assert!(!good, "the sums find what was changed");
        }
    }
    // What another tool zips is taken, since the sums are in the folder: file by file, and from a pipe without sizes.
    if let Some((true, _)) = other_tool(&folder, "unzip", &["-q", "-o", "sent.zip", "-d", "again"]) {
        for args in
            [&["-q", "-r", "../other.zip", "lane-three"][..], &["-q", "-r", "-fd", "../other.zip", "lane-three"]]
        {
            let _ = fs::remove_file(folder.join("other.zip"));
            if let Some((good, said)) = other_tool(&folder.join("again"), "zip", args) {
                assert!(good, "{said}");
                fs::create_dir_all(folder.join("club")).unwrap();
                ran.then("pack open other.zip --into club").stdout("lane-three, version 1").run();
            }
        }
    }
}

#[test]
fn a_changed_pack_needs_a_higher_version() {
    let ran = with_pack("pack bundle lane-three").run();
    let first = fs::read(ran.path("lane-three-v1.zip")).unwrap();
    ran.then("pack open lane-three-v1.zip").run();
    let changed = || ran.then("pack bundle lane-three").file("lane-three/tuesday.yaml", format!("{SCRIPT}# changed\n"));
    changed().exit(3).no_stdout().stderr("other content of version 1").stderr("--raise").run();
    assert!(fs::read(ran.path("lane-three-v1.zip")).unwrap() == first);
    ran.then("pack bundle lane-three --raise").stdout("lane-three-v2.zip written").run();
    let text = fs::read_to_string(ran.path("lane-three/pack.yaml")).unwrap();
    assert_eq!(text, manifest_text("# mine\n").replacen('\n', "\nversion: 2\n", 1));
    let json = ran.then("pack open lane-three-v2.zip --json").run().json();
    assert_eq!((json["outcome"].as_str(), json["replaced_version"].as_u64()), (Some("replaced"), Some(1)));
    let kept = json["kept"].as_str().unwrap();
    assert!(kept.ends_with(".before/lane-three-v1") && Path::new(kept).join("pack.yaml").is_file(), "{kept}");
    ran.then("pack open lane-three-v1.zip").exit(1).stderr("version 1 of `lane-three`, and version 2 is here").run();
    // An older bundle under the same name gives way; what is not a bundle does not, nor does the manifest change then.
    ran.then("pack bundle lane-three -o lane-three-v1.zip").stdout("written").run();
    let run = ran.then("pack bundle lane-three --raise -o notes.zip").file("notes.zip", "my notes");
    run.exit(3).stderr("is no bundle").run();
    assert_eq!(fs::read_to_string(ran.path("notes.zip")).unwrap(), "my notes");
    assert!(fs::read_to_string(ran.path("lane-three/pack.yaml")).unwrap().contains("version: 2\n"));
    ran.then("pack bundle lane-three -o gone/b.zip").exit(3).stderr("gone/b.zip").run();
    let parts: Vec<_> = ran.files().into_iter().filter(|name| name.ends_with("-part")).collect();
    assert!(parts.is_empty(), "{parts:?}");
}

#[test]
fn a_pack_with_an_error_is_not_passed_on() {
    let cases: [(&str, Vec<u8>, &str); 7] = [
        ("tuesday.yaml", SCRIPT.replace("look-down", "look-up").into(), "unknown-name"),
        ("tuesday.yaml", b"lengthwise: 1\ntitel: x\n".to_vec(), "lane-three/tuesday.yaml:2:1"),
        ("pack.yaml", b"lengthwise-pack: 1\n".to_vec(), "lane-three/pack.yaml:1:1"),
        ("clips/phrases/long-neck.wav", wav(9_000, 200.0)[..900].to_vec(), "long-neck.wav ends before"),
        ("über.yaml", SCRIPT.into(), "beyond plain ASCII"),
        ("con.yaml", SCRIPT.into(), "device"),
        ("Pack.yaml.yaml", b"\xff".to_vec(), "no UTF-8"),
    ];
    for (path, bytes, reason) in cases {
        let ran = with_pack("pack bundle lane-three").file(&format!("lane-three/{path}"), bytes);
        let ran = ran.exit(1).no_stdout().stderr(reason).run();
        assert_eq!(ran.files(), ["lane-three"], "{path}");
    }
    let ran =
        with_pack("pack bundle Lane").file("Lane/pack.yaml", manifest(1)).exit(1).stderr("lower-case letters").run();
    ran.then("pack bundle nowhere").exit(3).stderr("cannot read nowhere").run();
    ran.then("pack bundle empty").file("empty/x", "").exit(1).stderr("is no cue pack").run();
    let json = ran.then("pack bundle empty --json").exit(1).run().json();
    assert_eq!(json["diagnostics"][0]["code"], "pack-broken");
}

#[cfg(unix)]
#[test]
fn links_are_followed_inside_the_pack_only() {
    use std::os::unix::fs::symlink;
    let made = with_pack("pack bundle lane-three").stdout("2 recordings");
    let folder = made.command().get_current_dir().unwrap().join("lane-three");
    symlink("/etc", folder.join("notes")).unwrap();
    let made = made.run();
    let clips = folder.join("clips/phrases");
    symlink("look-down.wav", clips.join("long-neck.wav")).unwrap();
    made.then("pack bundle lane-three -o linked.zip").stdout("3 recordings").stdout(" notes, notes.txt").run();
    fs::write(made.path("other.wav"), wav(3_000, 200.0)).unwrap();
    for target in ["../../../other.wav", "/nowhere"] {
        fs::remove_file(clips.join("long-neck.wav")).unwrap();
        symlink(target, clips.join("long-neck.wav")).unwrap();
        made.then("pack bundle lane-three -o out.zip").exit(1).stderr("lane-three/clips/phrases").run();
    }
}

/// A run that has a bundle called `sent.zip`.
fn sent(args: &str, zip: &crate::zip::Zip) -> Run {
    Run::new(args).file("sent.zip", zip.bytes())
}

#[test]
fn no_bundle_takes_the_place_of_a_pack_of_the_program() {
    for name in ["announcer", "first-lengths", "tempo-range", "open-water"] {
        let zip = pack(name, &files(1));
        let ran = sent("pack open sent.zip", &zip).exit(1).no_stdout().stderr("comes with the program").run();
        assert_eq!(ran.files(), ["sent.zip"]);
        let run = ran.then("pack open sent.zip --into club").file("club/x", "");
        run.stdout("--packs club").run();
        assert_eq!(names(&ran.path("club")), [name, "x"]);
    }
}

#[test]
fn what_a_bundle_says_cannot_steer_a_terminal() {
    let hostile = pack("lane-three", &files(1)).with(Entry::stored("lane-three/\x1b]0;owned\x07.yaml", SCRIPT));
    let ran: Ran = sent("pack open sent.zip", &hostile).exit(1).stderr("owned\\u{7}.yaml` has control").run();
    assert!(!ran.stderr.contains(['\x1b', '\x07']), "{:?}", ran.stderr);
    let json = ran.then("pack open sent.zip --json").exit(1).run().json();
    assert!(json["diagnostics"][0]["message"].as_str().unwrap().contains("\\u{1b}"));
    let mut texts = files(1);
    let text = String::from_utf8(texts[0].1.clone()).unwrap();
    texts[0].1 = text.replace("Mara Quist", "\u{202e}tsiuQ").replace("CC0", "\"C\u{2066}C\"").into_bytes();
    let ran = sent("pack open sent.zip", &pack("lane-three", &texts)).stdout("Voice: \\u{202e}tsiuQ").run();
    assert!(ran.stdout.contains("C\\u{2066}C") && !ran.stdout.contains(['\u{202e}', '\u{2066}']), "{:?}", ran.stdout);
}

#[test]
fn files_that_cannot_be_used_are_the_worlds_fault() {
    let ran = Run::new("pack open nowhere.zip").exit(3).stderr("cannot read nowhere.zip").run();
    ran.then("pack open .").exit(3).stderr("it is a folder").run();
    let zip = pack("lane-three", &files(1));
    sent("pack open sent.zip --into gone", &zip).exit(3).stderr("gone").stderr("make its folder first").run();
    let used = {
        let mut files = files(1);
        files[0].1.extend(b"uses: [announcer, lane-two]\n");
        pack("lane-three", &files)
    };
    sent("pack open sent.zip", &used).stdout("It uses packs that are not here: lane-two").run();
}
