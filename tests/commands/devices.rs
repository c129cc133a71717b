//! What needs a sound device, where there is none: exactly what is said, and nothing by a library.

use crate::run::Run;

const PHRASE: &str = "lengthwise-pack: 1\ntitle: Lane three\nlanguage: en-GB\n\
    speaker: { voice: Mara, made-with: a phone, agreed: \"on 3 May, for this club\" }\nlicence: for this club\n\
    phrases:\n  good: { full: soft hand, short: soft }\n";

/// A system whose default is a device that is not there, and one whose default is a server that does not run (where the plugin for
/// it is installed; else it is a plugin that is not there). Of the first the library says "Unknown PCM nowhere", of the second one
/// says five lines, each time that a device is looked for.
const SYSTEMS: [&str; 2] = [
    "pcm.!default { type plug slave.pcm \"nowhere\" }\n",
    "pcm.!default { type jack playback_ports { 0 system:playback_1 1 system:playback_2 } \
     capture_ports { 0 system:capture_1 } }\n",
];

fn without_hardware(system: &str, args: &str) -> Run {
    Run::new(args)
        .file("asound.conf", system)
        .file("mara/pack.yaml", PHRASE)
        .env("ALSA_CONFIG_PATH", "asound.conf")
        .env("PULSE_SERVER", "unix:/nowhere")
        .env("XDG_RUNTIME_DIR", "/nowhere")
}

#[test]
fn without_hardware_one_sentence_is_said() {
    let none = "there is no sound output and no microphone; plug one in, or start the sound server\n";
    let output = "error: there is no sound output; plug one in, or start the sound server\n";
    let microphone = "error: there is no microphone; plug one in, or start the sound server\n";
    for system in SYSTEMS {
        let listed = without_hardware(system, "devices").run();
        assert_eq!((listed.stdout.as_str(), listed.stderr.as_str()), (none, ""), "{system}");
        let json = without_hardware(system, "devices --json").run();
        assert_eq!(json.json(), serde_json::json!({ "devices": [], "microphones": [] }));
        assert_eq!(json.stderr, "");
        let played = without_hardware(system, "play first-lengths/level-body --no-screen --no-record").exit(3).run();
        assert_eq!((played.stdout.as_str(), played.stderr.as_str()), ("", output), "{system}");
        let recorded = without_hardware(system, "record mara --all --no-screen").exit(3).run();
        let says = "Lane three, the voice of Mara; on 3 May, for this club\n".to_owned() + microphone;
        assert_eq!((recorded.stdout, recorded.stderr), (String::new(), says), "{system}");
        let said = without_hardware(system, "pack say look-down").exit(3).run();
        assert_eq!(said.stderr.lines().count(), 2, "{}", said.stderr);
        assert!(said.stderr.ends_with(output), "{}", said.stderr);
        // A name that is asked for is not found among what is no device.
        let unknown = without_hardware(system, "play first-lengths/level-body --no-screen --no-record --device deck");
        unknown.exit(3).stderr("error: there is no sound output `deck`, nor any other\n").run();
    }
}
