//! Behaviour of the whole crate, one module each; tests of single files are beside them.

#![allow(missing_docs, clippy::unwrap_used, clippy::panic, reason = "tests, also in their helpers")]

#[path = "main/anything.rs"]
mod anything;
#[path = "main/bundles.rs"]
mod bundles;
#[path = "cases.rs"]
mod cases;
#[path = "main/cli.rs"]
mod cli;
#[path = "main/deck.rs"]
mod deck;
#[path = "main/decks.rs"]
mod decks;
#[path = "main/exposure.rs"]
mod exposure;
#[path = "main/failing.rs"]
mod failing;
#[path = "fuzz/feed.rs"]
mod feed;
#[path = "main/fits.rs"]
mod fits;
#[path = "main/generate.rs"]
mod generate;
#[path = "main/golden.rs"]
mod golden;
#[path = "main/harmless.rs"]
mod harmless;
#[path = "main/heard.rs"]
mod heard;
#[path = "main/help.rs"]
mod help;
#[path = "main/hostile.rs"]
mod hostile;
#[path = "main/inputs.rs"]
mod inputs;
#[path = "main/kills.rs"]
mod kills;
#[path = "main/lists.rs"]
mod lists;
#[path = "main/live.rs"]
mod live;
#[path = "main/mistakes.rs"]
mod mistakes;
#[path = "main/modes.rs"]
mod modes;
#[path = "fuzz/open.rs"]
mod open;
#[path = "main/outside.rs"]
mod outside;
#[path = "main/packs.rs"]
mod packs;
#[path = "main/plan.rs"]
mod plan;
#[path = "main/player.rs"]
mod player;
#[path = "main/reads.rs"]
mod reads;
#[path = "main/recording.rs"]
mod recording;
#[path = "main/reference.rs"]
mod reference;
#[path = "main/replay.rs"]
mod replay;
#[path = "main/roster.rs"]
mod roster;
#[path = "main/run.rs"]
mod run;
#[path = "main/several.rs"]
mod several;
#[path = "main/shipped.rs"]
mod shipped;
#[path = "main/sound.rs"]
mod sound;
#[cfg(feature = "speech")]
#[path = "main/speech.rs"]
mod speech;
#[path = "main/stdout.rs"]
mod stdout;
#[path = "main/steered.rs"]
mod steered;
#[path = "main/steering.rs"]
mod steering;
#[path = "main/stick.rs"]
mod stick;
#[path = "main/strands.rs"]
mod strands;
#[path = "main/targets.rs"]
mod targets;
#[path = "main/tracks.rs"]
mod tracks;
#[path = "main/undo.rs"]
mod undo;
#[path = "main/whiteboard.rs"]
mod whiteboard;
#[path = "main/whole.rs"]
mod whole;
#[path = "main/yaml.rs"]
mod yaml;
#[path = "main/zip.rs"]
mod zip;
