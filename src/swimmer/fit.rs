//! The swimmer from data: what counts, times and efforts say of somebody. Pure: observations in, answers out; who kept them and
//! where is not known here. Every number that was chosen says so beside it.

pub mod breaking;
pub mod compare;
pub mod counts;
pub mod critical;
pub mod difference;
pub mod lengths;
pub mod load;
mod robust;
#[cfg(test)]
mod simulated;
#[cfg(test)]
mod tests;
