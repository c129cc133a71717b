//! Voices: clips that are sounding, and how one is added to a run of frames.
//!
//! Which voices start and end is decided in `mixer`; levels of faders are in `level`.

use super::sample::QUANTUM;
use crate::audio::bank::Bank;
use crate::timeline::segment::Event;

/// What a clip entered in the middle may ring beyond its true peak: it opens with a step, whose band-limited overshoot
/// is about 18 % for each edge (Gibbs; 9 % of a jump of twice the amplitude).
const ENTERED: f32 = 1.5;

/// A clip that sounds.
#[derive(Clone, Copy, Debug)]
pub(super) struct Voice {
    /// The practice frame of the first sample played.
    pub(super) begin: u64,
    /// Samples of the clip before that.
    offset: usize,
    /// The practice frame after the last sample.
    pub(super) end: u64,
    clip: usize,
    /// Where its segment is.
    pub(super) slot: usize,
    /// The index of its fader.
    pub(super) bus: usize,
    /// From a 16-bit sample to the mix, left and right.
    scale: [f32; 2],
    /// Its true peak on the louder side, before faders.
    pub(super) peak: f32,
    /// Of its segment.
    pub(super) epoch: u32,
    /// Where a cut began to fade it, and over how many frames.
    fade: Option<(u64, u32)>,
}

impl Voice {
    /// `None` where the event names no clip, or none of it is left to play.
    pub(super) fn new(event: &Event, epoch: u32, slot: usize, bank: &Bank) -> Option<Self> {
        let clip = bank.clips.get(event.clip as usize)?;
        let offset = event.offset as usize;
        let frames = clip.samples.len().checked_sub(offset).filter(|frames| *frames > 0)?;
        let scale = event.gain.map(|gain| gain * clip.gain * (1.0 / 32_768.0));
        let gain = event.gain.iter().fold(0.0, |top, gain| f32::max(top, gain.abs()));
        Some(Self {
            begin: event.frame,
            offset,
            end: event.frame + frames as u64,
            clip: event.clip as usize,
            slot,
            bus: event.bus.index(),
            scale,
            peak: gain * clip.true_peak * if offset == 0 { 1.0 } else { ENTERED },
            epoch,
            fade: None,
        })
    }

    /// Fades out from `at` on; a voice that is fading already goes on as it does.
    pub(super) fn fade(&mut self, at: u64, frames: u32) {
        if self.fade.is_none() {
            self.fade = Some((at, frames));
            self.end = self.end.min(at + u64::from(frames));
        }
    }

    /// Moves with the practice's clock by so many frames.
    pub(super) fn skip(&mut self, frames: i64) {
        self.begin = self.begin.saturating_add_signed(frames);
        self.end = self.end.saturating_add_signed(frames);
        self.fade = self.fade.map(|(at, len)| (at.saturating_add_signed(frames), len));
    }

    /// Whether both sides are alike.
    pub(super) fn is_centred(&self) -> bool {
        self.scale[0] == self.scale[1]
    }

    /// Adds the voice to a run that begins at practice frame `from`. A centred voice needs only one side.
    pub(super) fn add<const SIDES: usize>(&self, bank: &Bank, from: u64, sides: [&mut [f32]; SIDES]) {
        let Some(clip) = bank.clips.get(self.clip) else { return };
        let ahead = self.begin.saturating_sub(from) as usize;
        let skip = from.saturating_sub(self.begin) as usize + self.offset;
        let until = self.end.saturating_sub(from) as usize;
        let Some(samples) = clip.samples.get(skip..) else { return };
        let mut faded = [0.0; QUANTUM];
        if let Some((start, frames)) = self.fade {
            for ((frame, faded), sample) in (from + ahead as u64..).zip(&mut faded).zip(samples) {
                let left = u64::from(frames).saturating_sub(frame.saturating_sub(start));
                *faded = f32::from(*sample) * (left as f32 / frames as f32);
            }
        }
        for (mix, scale) in sides.into_iter().zip(self.scale) {
            let Some(mix) = mix.get_mut(ahead..) else { return };
            let frames = mix.len().min(until.saturating_sub(ahead));
            let mix = mix.get_mut(..frames).unwrap_or_default();
            if self.fade.is_some() {
                mix.iter_mut().zip(&faded).for_each(|(mix, sample)| *mix += sample * scale);
            } else {
                mix.iter_mut().zip(samples).for_each(|(mix, sample)| *mix += f32::from(*sample) * scale);
            }
        }
    }
}
