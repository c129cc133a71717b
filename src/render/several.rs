//! Several scripts, or scripts for several swimmers: a file of each in one folder.

use super::batch::{self, Done, PracticeEnd, Shared, Unmade, first_error};
use super::file::{self, FileOrder};
use super::made::FileFigures;
use super::origin::Origin;
use super::target::Target;
use crate::diag::shown::ShownPath;
use crate::diag::{Diagnostic, Sources, has_errors};
use crate::prepare::{self, PracticeRequest, identity, stem};
use crate::sink::output::Format;
use std::collections::{BTreeMap, BTreeSet};
use std::error::Error;
use std::fmt;
use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;

/// Practices with the files that they are to be.
#[derive(Debug)]
pub struct Several(Vec<NamedPractice>);

/// One practice.
#[derive(Debug)]
struct NamedPractice {
    request: PracticeRequest,
    output: PathBuf,
}

/// Two practices that would be written to one file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SameFile {
    /// The two, in words.
    pub practices: [String; 2],
    /// The file.
    pub output: PathBuf,
}

impl fmt::Display for SameFile {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { practices: [first, second], output } = self;
        write!(
            f,
            "{first} and {second} would both be written to {}; rename one, or render them into two folders",
            output.shown()
        )
    }
}

impl Error for SameFile {}

/// What is wanted of each practice.
#[derive(Clone, Copy, Debug)]
pub struct SeveralOrder {
    /// The form of the files.
    pub target: Target,
    /// The spoken words beside each file too.
    pub captions: bool,
    /// Whether whatever has the names is replaced.
    pub force: bool,
}

/// What came of one practice.
#[derive(Debug)]
pub struct SeveralRow<R> {
    /// The script, and the swimmer if one was named.
    pub practice: String,
    /// Its file.
    pub output: PathBuf,
    /// How it ended.
    pub end: PracticeEnd<R>,
    /// What was found in its texts, if it has errors.
    pub problems: Option<(Vec<Diagnostic>, Sources)>,
}

impl Several {
    /// Names the files: by the script, and by the swimmer where there are several of them.
    ///
    /// # Errors
    /// Where two would have one name.
    pub fn named(requests: Vec<PracticeRequest>, folder: &Path, format: Format) -> Result<Self, SameFile> {
        let swimmers = requests.iter().map(|request| &request.swimmer).collect::<BTreeSet<_>>().len();
        let stem = |path: &Path| stem(path).to_string_lossy().into_owned();
        let mut taken: BTreeMap<PathBuf, &PracticeRequest> = BTreeMap::new();
        let mut outputs = Vec::with_capacity(requests.len());
        for request in &requests {
            let swimmer = request.swimmer.as_ref().filter(|_| swimmers > 1);
            let swimmer = swimmer.map_or(String::new(), |swimmer| format!(" {}", swimmer.stem()));
            let output = folder.join(format!("{}{swimmer}.{}", stem(&request.script), format.extension()));
            if let Some(other) = taken.insert(output.clone(), request) {
                return Err(SameFile { practices: [in_words(other), in_words(request)], output });
            }
            outputs.push(output);
        }
        Ok(Self(requests.into_iter().zip(outputs).map(|(request, output)| NamedPractice { request, output }).collect()))
    }

    /// Makes all of them. `keep` is asked, on the thread that made it, for what shall be kept of each practice; `progress`
    /// hears how many are done, of how many.
    pub fn make<R: Send, E: Error>(
        &self,
        order: &SeveralOrder,
        keep: impl Fn(&Done<'_, &FileFigures>) -> Result<R, E> + Sync,
        progress: impl Fn(u64, u64) + Sync,
        stop: &AtomicBool,
    ) -> Vec<SeveralRow<R>> {
        let shared = Shared::new(stop);
        batch::share_out(&self.0, progress, |named| {
            let mut problems = None;
            let end = PracticeEnd::from(one(named, order, &keep, &shared, &mut problems));
            SeveralRow { practice: in_words(&named.request), output: named.output.clone(), end, problems }
        })
    }
}

fn one<R, E: Error>(
    named: &NamedPractice,
    order: &SeveralOrder,
    keep: impl Fn(&Done<'_, &FileFigures>) -> Result<R, E>,
    shared: &Shared<'_>,
    problems: &mut Option<(Vec<Diagnostic>, Sources)>,
) -> Result<PracticeEnd<R>, Unmade> {
    if shared.is_stopped() {
        return Err(Unmade::Stopped);
    }
    let outcome = prepare::plan(&named.request).map_err(|error| Unmade::Failed(error.to_string()))?;
    let Some(planned) = outcome.planned.filter(|_| !has_errors(&outcome.diagnostics)) else {
        let first = first_error(&outcome.diagnostics);
        *problems = Some((outcome.diagnostics, outcome.sources));
        return Err(Unmade::Wrong(first.unwrap_or_else(|| "there is no practice".to_owned())));
    };
    let captions = order.captions.then(|| named.output.with_extension("vtt"));
    let identity = identity(&named.request.script, &planned.plan.title);
    let mut file =
        FileOrder::new(&named.output, order.target, identity, captions).from(Origin::of(&named.request.script));
    file.settle(|_| order.force)?;
    let figures = file::render_among(&planned, file, &shared.stock, shared.stop)?;
    let diagnostics = &outcome.diagnostics;
    let done = Done { output: &named.output, planned: &planned, diagnostics, files: &figures };
    keep(&done).map(PracticeEnd::Made).map_err(|error| Unmade::Failed(error.to_string()))
}

/// A practice in words.
fn in_words(request: &PracticeRequest) -> String {
    let script = request.script.shown();
    request.swimmer.as_ref().map_or(script.to_string(), |swimmer| format!("{script} for {swimmer}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn named(practices: &[(&str, Option<&str>)]) -> Result<Vec<String>, String> {
        let request = |(script, swimmer): &(&str, Option<&str>)| PracticeRequest {
            script: script.into(),
            swimmer: swimmer.map(Into::into),
            ..PracticeRequest::default()
        };
        let several = Several::named(practices.iter().map(request).collect(), Path::new("out"), Format::Wav);
        several
            .map(|several| several.0.iter().map(|named| named.output.display().to_string()).collect())
            .map_err(|error| error.to_string())
    }

    #[test]
    fn files_are_named_by_what_tells_them_apart() {
        assert_eq!(
            named(&[("a/x.yaml", Some("ann.yaml")), ("y.yaml", Some("ann.yaml"))]).unwrap(),
            ["out/x.wav", "out/y.wav"]
        );
        assert_eq!(named(&[("x.yaml", Some("ann.yaml")), ("x.yaml", None)]).unwrap(), ["out/x ann.wav", "out/x.wav"]);
        assert_eq!(
            named(&[("a/x.yaml", None), ("b/x.yaml", None)]).unwrap_err(),
            "a/x.yaml and b/x.yaml would both be written to out/x.wav; rename one, or render them into two folders"
        );
    }
}
