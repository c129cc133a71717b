//! A practice played as if live, without a device, its sound perhaps into a file.

use crate::mixer::sample::Frame;
use crate::prepare::piece::Playable;
use crate::session::SessionEnd;
use crate::session::simulated::{NotSimulated, Simulation, simulate};
use crate::sink::Sink;
use crate::sink::file::{FileError, Replace};
use crate::sink::output::{FileOutput, Format};
use crate::sink::spec::{Spec, Tags};
use crate::sink::spool::Spool;
use std::path::Path;

/// Simulates a session; with `output` its sound becomes a file that is whole or not there.
///
/// # Errors
/// See [`NotSimulated`].
pub fn dry_run(
    playable: &Playable,
    script: &str,
    simulation: Simulation<'_>,
    output: Option<(&Path, Format, Replace)>,
    tell: &mut dyn FnMut(&str),
) -> Result<SessionEnd, NotSimulated<FileError>> {
    playable.with_programme(script, |programme| {
        let Some((path, format, replace)) = output else {
            return simulate(programme, simulation, &mut |_: &[Frame]| Ok(()), tell);
        };
        let rate = simulation.rate;
        // A file says at its head how long it is, and nobody knows before the session has ended.
        let mut spool = Spool::beside(path).map_err(NotSimulated::Sound)?;
        let ended = simulate(programme, simulation, &mut |block| spool.sound(block), tell)?;
        let title = playable.planned().plan.title.clone();
        let spec = Spec {
            rate,
            mono: false,
            frames: spool.frames(),
            markers: Vec::new(),
            identity: format!("dry run of {script}"),
            tags: Tags { album: title.clone(), title, ..Tags::default() },
            workers: 1,
            kilobits: None,
        };
        let mut file = FileOutput::create(path, format, &spec, replace).map_err(NotSimulated::Sound)?;
        spool.unwind(&mut file).map_err(NotSimulated::Sound)?;
        file.finish().map_err(NotSimulated::Sound)?;
        Ok(ended)
    })
}
