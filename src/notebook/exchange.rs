//! The notebook as tables for spreadsheets and people: CSV files, with scripts and profiles as the YAML files that they are.
//! What is written is read back the same, or refused with the place. No file is touched here.

pub mod csv;
pub mod read;
pub mod write;

mod columns;
mod paths;

#[cfg(test)]
mod tests;
