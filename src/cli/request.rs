//! What the commands that read a script are asked for, as a request.

use super::args::{AudienceArg, ScriptArgs};
use super::notebook::known_from;
use super::ui::speech;
use crate::pack::load::user_folder;
use crate::practice::Audience;
use crate::prepare::PracticeRequest;
use std::path::PathBuf;

/// The user's folder of packs.
pub fn user_packs() -> Option<PathBuf> {
    user_folder(std::env::var_os("XDG_DATA_HOME"), std::env::var_os("HOME"))
}

/// What the common arguments ask for.
pub fn request(input: &ScriptArgs) -> PracticeRequest {
    PracticeRequest {
        script: input.script.clone(),
        swimmer: input.swimmer.clone(),
        packs: input.reading.packs.clone(),
        audience: match input.reading.audience {
            AudienceArg::Headphones => Audience::Headphones,
            AudienceArg::Speaker => Audience::Speaker,
            AudienceArg::Player => Audience::Player,
        },
        user_packs: user_packs(),
        voice: input.reading.voice_from.clone(),
        speech: speech().filter(|_| !input.reading.no_speech),
        known: known_from(&input.reading.notebook),
    }
}
