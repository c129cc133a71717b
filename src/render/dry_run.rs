//! A practice played as if live, without a device, its sound perhaps into a file.

use crate::mixer::sample::Frame;
use crate::prepare::Planned;
use crate::prepare::piece::with_piece;
use crate::session::live::Ended;
use crate::session::record::Place;
use crate::session::simulated::{NotSimulated, Simulation, simulate};
use crate::sink::Sink;
use crate::sink::file::{FileError, Replace};
use crate::sink::output::{Format, Output};
use crate::sink::spec::{Spec, Tags};
use std::convert::Infallible;
use std::path::Path;

/// Simulates a session; with `output` its sound becomes a file that is whole or not there.
///
/// # Errors
/// See [`NotSimulated`].
pub fn dry_run(
    planned: &Planned,
    script: &str,
    simulation: Simulation<'_>,
    output: Option<(&Path, Format, Replace)>,
    tell: &mut dyn FnMut(&str),
) -> Result<Ended, NotSimulated<FileError>> {
    with_piece(planned, script, |piece| {
        let Some((path, format, replace)) = output else {
            return simulate(piece, simulation, &mut |_: &[Frame]| Ok(()), tell);
        };
        // A file says at its head how long it is: the same session is run once for its length, then once more for its sound.
        let mut frames = 0;
        let silent = Simulation { place: Place::Nowhere, ..simulation.clone() };
        let counted = simulate::<Infallible>(
            piece,
            silent,
            &mut |block| {
                frames += block.len() as u64;
                Ok(())
            },
            &mut |_| {},
        );
        match counted {
            Ok(_) | Err(NotSimulated::Sound(_)) => {}
            Err(NotSimulated::Bank(why)) => return Err(NotSimulated::Bank(why)),
            Err(NotSimulated::Record(error)) => return Err(NotSimulated::Record(error)),
            Err(NotSimulated::Stopped) => return Err(NotSimulated::Stopped),
        }
        let title = planned.plan.title.clone();
        let spec = Spec {
            rate: simulation.rate,
            mono: false,
            frames,
            markers: Vec::new(),
            identity: format!("dry run of {script}"),
            tags: Tags { album: title.clone(), title, ..Tags::default() },
            workers: 1,
            kilobits: None,
        };
        let mut file = Output::create(path, format, &spec, replace).map_err(NotSimulated::Sound)?;
        let ended = simulate(piece, simulation, &mut |block| file.sound(block), tell)?;
        file.finish().map_err(NotSimulated::Sound)?;
        Ok(ended)
    })
}
