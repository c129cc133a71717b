//! Quantities with their units: time, level, swimming.
//!
//! Constructors check ranges and only meaningful operators exist, so a value of one of these types
//! can be trusted. Reading them from text is the script's job (`script::quantity`).

pub mod calendar;
pub mod frame;
pub mod level;
pub mod swim;
pub mod time;
