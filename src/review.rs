//! What the notebook's practices mean: the questions that a coach asks each week, answered in numbers that say how sure they
//! are.
//!
//! All of it is reckoned from practices as the notebook has them, and from today's date. Nothing here is drawn, and nothing
//! is decided: what to swim next follows elsewhere.

pub mod breaths;
pub mod counts;
pub mod focus;
pub mod held;
pub mod sides;
pub mod speed;
pub mod splits;
pub mod trend;
pub mod week;
pub mod whole;
pub mod words;

#[cfg(test)]
mod tests;
