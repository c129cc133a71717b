//! How long work tells how far it is. Faces decide what a person sees of it.

/// Hears how far some work has come.
pub trait Progress {
    /// `done` of `total`, in whatever unit the work counts in.
    fn at(&mut self, done: u64, total: u64);
}

/// Nobody listens.
#[derive(Clone, Copy, Debug, Default)]
pub struct Unheard;

impl Progress for Unheard {
    fn at(&mut self, _: u64, _: u64) {}
}
