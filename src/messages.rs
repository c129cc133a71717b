//! Standard error as this program writes to it, whatever libraries want to write there, and panics of theirs that are no news.
//!
//! The libraries of sound servers report on standard error as they please: each time a device is looked for, over a screen that is
//! drawn there. Once it is taken for this program alone, the descriptor that they know leads nowhere, and a second one leads to
//! where it led. Not only during calls: their threads write when they like.

use std::cell::Cell;
use std::fs::File;
use std::io::{self, Write};
use std::panic::{self, AssertUnwindSafe};
use std::sync::{Arc, Once};

/// Where this program's messages go.
#[derive(Clone, Debug, Default)]
pub struct Messages {
    /// The second descriptor; none where standard error is still everybody's.
    own: Option<Arc<File>>,
}

impl Messages {
    /// Standard error as the process was given it.
    pub const fn shared() -> Self {
        Self { own: None }
    }

    /// Takes standard error for this program alone, for as long as it runs. Where the system does not let it, or knows no such
    /// thing, it stays everybody's. A panic gives it back before it is reported.
    pub fn alone() -> Self {
        Self { own: take().ok().flatten() }
    }
}

#[cfg(any(target_os = "linux", target_vendor = "apple"))]
fn take() -> io::Result<Option<Arc<File>>> {
    use std::os::fd::AsFd;
    let nowhere = File::options().write(true).open("/dev/null")?;
    let own = Arc::new(File::from(io::stderr().as_fd().try_clone_to_owned()?));
    rustix::stdio::dup2_stderr(&nowhere)?;
    let (before, back) = (panic::take_hook(), Arc::clone(&own));
    panic::set_hook(Box::new(move |info| {
        if is_unheard() {
            return;
        }
        // Where it cannot be given back, nobody can be told.
        let _ = rustix::stdio::dup2_stderr(&*back);
        before(info);
    }));
    Ok(Some(own))
}

thread_local! {
    /// Whether what runs on this thread may panic without a word.
    static UNHEARD: Cell<bool> = const { Cell::new(false) };
}

/// Does work that foreign code may answer with a panic; `None` where it did, and nothing is printed. What the work has changed by
/// then is not to be used.
pub fn unheard<T>(work: impl FnOnce() -> T) -> Option<T> {
    // The hook is the process's: it is put there once, and what is put there before and after stays in use.
    static HOOK: Once = Once::new();
    HOOK.call_once(|| {
        let before = panic::take_hook();
        panic::set_hook(Box::new(move |info| {
            if !is_unheard() {
                before(info);
            }
        }));
    });
    UNHEARD.set(true);
    let done = panic::catch_unwind(AssertUnwindSafe(work));
    UNHEARD.set(false);
    done.ok()
}

/// Whether a panic of this thread is no news: for hooks that do more than print.
pub fn is_unheard() -> bool {
    UNHEARD.get()
}

#[cfg(not(any(target_os = "linux", target_vendor = "apple")))]
fn take() -> io::Result<Option<Arc<File>>> {
    Ok(None)
}

impl Write for Messages {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        match &self.own {
            Some(own) => (&**own).write(bytes),
            None => io::stderr().write(bytes),
        }
    }

    fn flush(&mut self) -> io::Result<()> {
        match &self.own {
            Some(own) => (&**own).flush(),
            None => io::stderr().flush(),
        }
    }
}

#[cfg(all(test, any(target_os = "linux", target_vendor = "apple")))]
mod tests {
    use super::*;
    use std::process::Command;

    /// Set in the process that the test starts.
    const CHILD: &str = "LENGTHWISE_TEST_ALONE";

    #[test]
    fn libraries_are_not_heard_and_a_panic_is() {
        if std::env::var_os(CHILD).is_some() {
            let mut messages = Messages::alone();
            // What a library in C would write to.
            rustix::io::write(rustix::stdio::stderr(), b"by a library\n").unwrap();
            io::stderr().write_all(b"by a library in Rust\n").unwrap();
            messages.write_all(b"by ourselves\n").unwrap();
            panic!("and this panic");
        }
        let this = std::env::current_exe().unwrap();
        let mut child = Command::new(this);
        child.args(["--exact", "messages::tests::libraries_are_not_heard_and_a_panic_is", "--nocapture"]);
        let output = child.env(CHILD, "1").output().unwrap();
        let said = String::from_utf8(output.stderr).unwrap();
        assert!(said.contains("by ourselves") && said.contains("and this panic"), "{said}");
        assert!(!said.contains("library\n") && !said.contains("in Rust"), "{said}");
    }
}
