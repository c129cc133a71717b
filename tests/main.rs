//! Behaviour of the whole crate, one module each, without a process where that can be; tests of single files are beside
//! them. This is the quick loop: what starts the program again and again is in `commands.rs`.

#![allow(missing_docs, clippy::unwrap_used, clippy::panic, reason = "tests, also in their helpers")]

#[path = "main/anything.rs"]
mod anything;
#[path = "main/behind.rs"]
mod behind;
#[path = "cases.rs"]
mod cases;
#[path = "kit/chance.rs"]
mod chance;
#[path = "main/deck.rs"]
mod deck;
#[path = "main/decks.rs"]
mod decks;
#[path = "fuzz/feed.rs"]
mod feed;
#[path = "main/fits.rs"]
mod fits;
#[path = "main/generate.rs"]
mod generate;
#[path = "main/golden.rs"]
mod golden;
#[path = "main/heard.rs"]
mod heard;
#[path = "main/help.rs"]
mod help;
#[path = "kit/honest.rs"]
mod honest;
#[path = "main/hostile.rs"]
mod hostile;
#[path = "main/known.rs"]
mod known;
#[path = "main/lane_apart.rs"]
mod lane_apart;
#[path = "main/lane_heard.rs"]
mod lane_heard;
#[path = "main/lane_live.rs"]
mod lane_live;
#[path = "main/lane_log.rs"]
mod lane_log;
#[path = "main/lanes.rs"]
mod lanes;
#[path = "main/lanes_heard.rs"]
mod lanes_heard;
#[path = "main/lanes_own_time.rs"]
mod lanes_own_time;
#[path = "main/lists.rs"]
mod lists;
#[path = "kit/material.rs"]
mod material;
#[path = "main/mistakes.rs"]
mod mistakes;
#[path = "fuzz/open.rs"]
mod open;
#[path = "main/outline.rs"]
mod outline;
#[path = "main/outside.rs"]
mod outside;
#[path = "main/plan.rs"]
mod plan;
#[path = "main/poolside.rs"]
mod poolside;
#[path = "main/practices.rs"]
mod practices;
#[path = "main/readings.rs"]
mod readings;
#[path = "main/reference.rs"]
mod reference;
#[path = "main/replay.rs"]
mod replay;
#[path = "kit/run.rs"]
mod run;
#[path = "main/shipped.rs"]
mod shipped;
#[path = "main/skips.rs"]
mod skips;
#[path = "main/sound.rs"]
mod sound;
#[path = "main/stage.rs"]
mod stage;
#[path = "main/steered.rs"]
mod steered;
#[path = "main/steering.rs"]
mod steering;
#[path = "main/strands.rs"]
mod strands;
#[path = "fuzz/tables.rs"]
mod tables;
#[path = "main/takes.rs"]
mod takes;
#[path = "main/targets.rs"]
mod targets;
#[path = "main/told.rs"]
mod told;
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
#[path = "kit/zip.rs"]
mod zip;
