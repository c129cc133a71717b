//! Which of the system's devices a person chooses among.
//!
//! ALSA counts everything as a device that can be named in its place: converters, bridges to servers that do not run, a device that
//! swallows all sound, and each card up to ten times. Of those are left: the default, each card's outputs and inputs once, and what
//! the user or the distribution has named. A name that is asked for is looked for among all of them.

use cpal::traits::DeviceTrait;
use std::collections::HashSet;

/// Names of ALSA's own that are no devices: nothing, other names of the default, and the plugins of the packages alsa-lib 1.2.8 and
/// alsa-plugins 1.2.7 (`aplay -L`).
const NO_DEVICES: [&str; 16] = [
    "null",
    "sysdefault",
    "hw",
    "lavrate",
    "samplerate",
    "speexrate",
    "jack",
    "oss",
    "speex",
    "upmix",
    "vdownmix",
    "a52",
    "arcam_av",
    "usbstream",
    "dmix",
    "dsnoop",
];
/// Of the names for a card, the one that takes any format: everything else is the same output again.
const CARD: &str = "plughw";

/// What people call a device.
pub(super) fn name(device: &cpal::Device) -> String {
    device.description().map_or_else(|_| "unnamed".to_owned(), |description| description.name().to_owned())
}

/// What the system calls it.
pub(super) fn id(device: &cpal::Device) -> String {
    device.id().map(|id| id.to_string()).unwrap_or_default()
}

/// Those of the devices that a person chooses among, in their order; `answers` opens one and sees whether it says how it runs.
pub(super) fn choices(devices: Vec<cpal::Device>, answers: impl Fn(&cpal::Device) -> bool) -> Vec<cpal::Device> {
    let mut names = HashSet::new();
    let is_alsa = |device: &cpal::Device| device.id().is_ok_and(|id| id.host().name() == "ALSA");
    let chosen = |device: &cpal::Device| {
        // What does not answer is a bridge to nowhere. The others are not even asked: a bridge may start a server.
        !is_alsa(device) || is_choice(&id(device)) && answers(device) && names.insert(name(device))
    };
    devices.into_iter().filter(chosen).collect()
}

/// Whether an id of ALSA's, such as `alsa:plughw:CARD=PCH,DEV=0`, is one to choose.
fn is_choice(id: &str) -> bool {
    let pcm = id.split_once(':').map_or(id, |(_, pcm)| pcm);
    match pcm.split_once(':') {
        None => !NO_DEVICES.contains(&pcm),
        Some((CARD, _)) => true,
        Some((_, of)) => !of.contains("CARD="),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The names that `aplay -L` and `arecord -L` print on a laptop with one card, alsa-lib 1.2.8 (from memory, with the plugins of
    /// Debian 12's libasound2-plugins as they were seen here).
    #[test]
    fn a_card_is_chosen_once_and_no_converter() {
        let names = [
            "null",
            "lavrate",
            "samplerate",
            "speexrate",
            "jack",
            "oss",
            "pulse",
            "speex",
            "upmix",
            "vdownmix",
            "default",
            "sysdefault:CARD=PCH",
            "front:CARD=PCH,DEV=0",
            "hdmi:CARD=PCH,DEV=0",
            "surround51:CARD=PCH,DEV=0",
            "dmix:CARD=PCH,DEV=0",
            "dsnoop:CARD=PCH,DEV=0",
            "hw:CARD=PCH,DEV=0",
            "plughw:CARD=PCH,DEV=0",
            "plughw:CARD=PCH,DEV=3",
            "usbstream:CARD=PCH",
            "deck_speaker",
        ];
        let chosen: Vec<&str> = names.into_iter().filter(|name| is_choice(&format!("alsa:{name}"))).collect();
        assert_eq!(chosen, ["pulse", "default", "plughw:CARD=PCH,DEV=0", "plughw:CARD=PCH,DEV=3", "deck_speaker"]);
    }
}
