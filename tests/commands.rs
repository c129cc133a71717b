//! The program as it is called: what it prints, leaves on the disk, and leaves there when it is killed or the disk is full.

#![allow(missing_docs, clippy::unwrap_used, clippy::panic, reason = "tests, also in their helpers")]

#[path = "commands/baking.rs"]
mod baking;
#[path = "commands/bundles.rs"]
mod bundles;
#[expect(dead_code, reason = "nothing here is tried with random cases")]
#[path = "cases.rs"]
mod cases;
#[path = "commands/cli.rs"]
mod cli;
#[path = "commands/devices.rs"]
mod devices;
#[path = "commands/exposure.rs"]
mod exposure;
#[path = "commands/failing.rs"]
mod failing;
#[path = "commands/harmless.rs"]
mod harmless;
#[path = "kit/honest.rs"]
mod honest;
#[path = "commands/inputs.rs"]
mod inputs;
#[path = "commands/kills.rs"]
mod kills;
#[path = "commands/lane.rs"]
mod lane;
#[path = "commands/live.rs"]
mod live;
#[path = "commands/log.rs"]
mod log;
#[path = "kit/material.rs"]
mod material;
#[path = "commands/modes.rs"]
mod modes;
#[path = "commands/next.rs"]
mod next;
#[path = "commands/notebook.rs"]
mod notebook;
#[path = "commands/packs.rs"]
mod packs;
#[path = "commands/pages.rs"]
mod pages;
#[path = "commands/player.rs"]
mod player;
#[path = "commands/reads.rs"]
mod reads;
#[path = "commands/recording.rs"]
mod recording;
#[path = "commands/roster.rs"]
mod roster;
#[path = "kit/run.rs"]
mod run;
#[path = "commands/several.rs"]
mod several;
#[cfg(feature = "speech")]
#[path = "commands/speaker.rs"]
mod speaker;
#[path = "commands/speech.rs"]
mod speech;
#[path = "commands/stdout.rs"]
mod stdout;
#[path = "commands/stick.rs"]
mod stick;
#[path = "commands/tap.rs"]
mod tap;
#[path = "kit/zip.rs"]
mod zip;
