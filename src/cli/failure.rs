//! Why a command ends without success. What each is as an exit code, `cli` says.

/// Why a command ends without success.
#[derive(Debug)]
pub(super) enum Failure {
    /// The script or its data has errors, which have been shown.
    Shown,
    /// The command was used wrongly.
    Usage(String),
    /// A file or a device failed.
    World(String),
    /// The user or the system asked to stop.
    Interrupted(String),
}

impl Failure {
    /// Whatever went wrong outside the program.
    pub fn world(error: &dyn std::error::Error) -> Self {
        Self::World(error.to_string())
    }
}

impl From<std::io::Error> for Failure {
    fn from(error: std::io::Error) -> Self {
        Self::World(format!("cannot write the output: {error}"))
    }
}
