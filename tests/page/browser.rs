//! A real browser without a window, steered through its debugging pipe: JSON messages, a zero byte behind each.

use serde_json::{Value, json};
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};
use tempfile::TempDir;

/// What a browser may be called.
const PROGRAMS: [&str; 3] = ["chromium", "chromium-browser", "google-chrome"];
/// How long it may take to answer.
const PATIENCE: Duration = Duration::from_secs(90);

/// A browser with one page; it ends with the value.
pub struct Browser {
    child: Child,
    to: ChildStdin,
    from: Receiver<Value>,
    asked: u64,
    session: Option<String>,
    /// What happened in the page and was not asked for.
    events: Vec<Value>,
    _profile: TempDir,
}

impl Browser {
    /// Starts one. Says so aloud where there is none, and fails there in CI.
    pub fn start() -> Option<Self> {
        let paths = std::env::var_os("PATH").unwrap_or_default();
        let there = |program: &&str| std::env::split_paths(&paths).any(|folder| folder.join(program).exists());
        let Some(program) = PROGRAMS.into_iter().find(|program| there(program)) else {
            assert!(std::env::var_os("CI").is_none(), "CI must have a browser: apt install chromium");
            eprintln!("SKIPPED: no chromium here, so no page was looked at");
            return None;
        };
        let profile = tempfile::tempdir().unwrap();
        let data = format!("--user-data-dir={}", profile.path().display());
        let mut command = Command::new("sh");
        command.args(["-c", "exec \"$@\" 3<&0 4>&1 0</dev/null 1>/dev/null 2>/dev/null", "sh", program]);
        command.args(["--headless", "--no-sandbox", "--disable-gpu", "--remote-debugging-pipe", &data]);
        command.args(["--autoplay-policy=no-user-gesture-required", "--hide-scrollbars", "--no-first-run"]);
        command.env("HOME", profile.path()).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::null());
        let mut child = command.spawn().unwrap();
        let (to, stdout) = (child.stdin.take().unwrap(), child.stdout.take().unwrap());
        let (heard, from) = channel();
        std::thread::spawn(move || {
            let messages = BufReader::new(stdout).split(0).map_while(Result::ok);
            let messages = messages.map_while(|bytes| serde_json::from_slice(&bytes).ok());
            let _ = messages.map(|message| heard.send(message)).find(Result::is_err);
        });
        let mut browser = Self { child, to, from, asked: 0, session: None, events: Vec::new(), _profile: profile };
        let target = browser.ask("Target.createTarget", json!({ "url": "about:blank" }));
        let attach = json!({ "targetId": target["targetId"], "flatten": true });
        let session = browser.ask("Target.attachToTarget", attach);
        browser.session = Some(session["sessionId"].as_str().unwrap().to_owned());
        for domain in ["Page", "Runtime", "Log", "Network"] {
            browser.ask(&format!("{domain}.enable"), json!({}));
        }
        Some(browser)
    }

    /// Asks for something; what is answered.
    pub fn ask(&mut self, method: &str, parameters: Value) -> Value {
        self.asked += 1;
        let mut message = json!({ "id": self.asked, "method": method, "params": parameters });
        if let Some(session) = &self.session {
            message["sessionId"] = json!(session);
        }
        let mut bytes = serde_json::to_vec(&message).unwrap();
        bytes.push(0);
        self.to.write_all(&bytes).unwrap();
        let begun = Instant::now();
        loop {
            let left = PATIENCE.saturating_sub(begun.elapsed());
            let answer = self.from.recv_timeout(left).unwrap_or_else(|error| panic!("{method}: {error}"));
            if answer["id"] == json!(self.asked) {
                assert!(answer["error"].is_null(), "{method}: {answer}");
                return answer["result"].clone();
            }
            self.events.push(answer);
        }
    }

    /// Opens a file and waits until all of it is there.
    pub fn open(&mut self, page: &Path) {
        self.events.clear();
        self.ask("Page.navigate", json!({ "url": format!("file://{}", page.display()) }));
        let begun = Instant::now();
        while !self.events.iter().any(|event| event["method"] == "Page.loadEventFired") {
            let left = PATIENCE.saturating_sub(begun.elapsed());
            let event = self.from.recv_timeout(left).expect("the page loads");
            self.events.push(event);
        }
    }

    /// The value of an expression, waited for where it is promised.
    pub fn value(&mut self, expression: &str) -> Value {
        let asked = json!({ "expression": expression, "awaitPromise": true, "returnByValue": true });
        let answer = self.ask("Runtime.evaluate", asked);
        assert!(answer["exceptionDetails"].is_null(), "{expression}: {answer}");
        answer["result"]["value"].clone()
    }

    /// How wide and high the window is, in pixels.
    pub fn resize(&mut self, width: u32, height: u32) {
        let size = json!({ "width": width, "height": height, "deviceScaleFactor": 1, "mobile": false });
        self.ask("Emulation.setDeviceMetricsOverride", size);
    }

    /// What the system prefers: `light` or `dark`.
    pub fn prefer(&mut self, scheme: &str) {
        let features = json!({ "features": [{ "name": "prefers-color-scheme", "value": scheme }] });
        self.ask("Emulation.setEmulatedMedia", features);
    }

    /// What the browser itself traces of some categories while something is done.
    pub fn traced(&mut self, categories: &[&str], act: impl FnOnce(&mut Self)) -> Vec<Value> {
        let wanted = json!({ "traceConfig": { "includedCategories": categories }, "transferMode": "ReportEvents" });
        self.ask("Tracing.start", wanted);
        act(self);
        self.ask("Tracing.end", json!({}));
        let begun = Instant::now();
        while !self.events.iter().any(|event| event["method"] == "Tracing.tracingComplete") {
            let left = PATIENCE.saturating_sub(begun.elapsed());
            let event = self.from.recv_timeout(left).expect("the trace comes");
            self.events.push(event);
        }
        let (trace, others) = std::mem::take(&mut self.events)
            .into_iter()
            .partition(|event| event["method"].as_str().is_some_and(|method| method.starts_with("Tracing.")));
        self.events = others;
        let trace: Vec<Value> = trace;
        trace.into_iter().flat_map(|event| event["params"]["value"].as_array().cloned().unwrap_or_default()).collect()
    }

    /// What has happened since the page was opened.
    pub fn events(&mut self) -> &[Value] {
        // An answer comes behind all that happened before it.
        self.value("0");
        &self.events
    }

    /// What the page has complained of, and what it has asked for beyond its own file.
    pub fn complaints(&mut self) -> Vec<String> {
        let events = self.events().iter();
        events
            .filter(|event| match event["method"].as_str().unwrap_or_default() {
                "Runtime.consoleAPICalled" | "Runtime.exceptionThrown" | "Log.entryAdded" => true,
                "Page.javascriptDialogOpening" | "Page.windowOpen" => true,
                "Network.requestWillBeSent" => {
                    let request = &event["params"];
                    let url = request["request"]["url"].as_str().unwrap_or_default();
                    request["type"] != "Document" && !url.starts_with("data:")
                }
                _ => false,
            })
            .map(|event| event.to_string().chars().take(500).collect())
            .collect()
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        // One that has ended already is as wished.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
