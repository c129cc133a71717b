//! A sound server without a sound card: a private PulseAudio daemon with outputs that only count time, for one test.

use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdout, Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};
use tempfile::TempDir;

/// The programs that are needed.
const PROGRAMS: [&str; 5] = ["pulseaudio", "pactl", "parec", "pacat", "paplay"];

/// A running server; it ends with the value.
pub struct Server {
    folder: TempDir,
    daemon: Option<Child>,
    others: Vec<Child>,
}

impl Server {
    /// Starts one with the output `out` at a rate. Says so aloud where it cannot, and fails there in CI.
    pub fn start(rate: u32) -> Option<Self> {
        let there = |program: &&str| {
            std::env::split_paths(&std::env::var_os("PATH").unwrap_or_default()).any(|dir| dir.join(program).exists())
        };
        if let Some(missing) = PROGRAMS.iter().find(|program| !there(program)) {
            assert!(
                std::env::var_os("CI").is_none(),
                "CI must have {missing}: apt install pulseaudio pulseaudio-utils"
            );
            eprintln!("SKIPPED: no {missing} here, so nothing was played through a device");
            return None;
        }
        let folder = tempfile::tempdir().unwrap();
        std::fs::create_dir(folder.path().join("rt")).unwrap();
        let mut server = Self { folder, daemon: None, others: Vec::new() };
        server.write_config(rate);
        server.up();
        server.tick("out");
        Some(server)
    }

    /// What the next start finds: an output at this rate.
    pub fn write_config(&self, rate: u32) {
        let config = format!(
            "load-module module-native-protocol-unix auth-anonymous=1\n\
             load-module module-null-sink sink_name=out rate={rate} channels=2 format=s16le\n\
             set-default-sink out\n"
        );
        std::fs::write(self.path("default.pa"), config).unwrap();
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// A command that talks to this server and to no other.
    pub fn command(&self, program: impl AsRef<std::ffi::OsStr>) -> Command {
        let mut command = Command::new(program);
        command
            .env("PULSE_RUNTIME_PATH", self.path("rt"))
            .env("PULSE_STATE_PATH", self.path("state"))
            .env("PULSE_SERVER", format!("unix:{}", self.path("rt/native").display()))
            .env("HOME", self.folder.path())
            .env_remove("XDG_RUNTIME_DIR");
        command
    }

    /// Starts the daemon and waits for its answer.
    pub fn up(&mut self) {
        let config = self.path("default.pa");
        let mut daemon = self.command("pulseaudio");
        daemon.args(["-n", "--daemonize=no", "--exit-idle-time=-1", "--use-pid-file=no", "--realtime=no"]);
        daemon.args(["--high-priority=no", "--log-level=error", "-F"]).arg(config);
        daemon.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
        self.daemon = Some(daemon.spawn().unwrap());
        let until = Instant::now() + Duration::from_secs(20);
        while !self.pactl(&["info"]).0 {
            assert!(Instant::now() < until, "the sound server does not start");
            sleep(Duration::from_millis(50));
        }
    }

    /// A null output ticks in blocks of up to 2 s while nothing plays: a silent stream keeps it fine. Not too fine: it loses
    /// a part of a microsecond at each tick, and with 20 ms it was seen to run 1.6 ms a second fast.
    pub fn tick(&mut self, sink: &str) {
        let mut pacat = self.command("pacat");
        pacat.args(["--playback", "--latency-msec=200", "--raw", "-d", sink, "/dev/zero"]);
        self.others.push(pacat.stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap());
    }

    /// A microphone that hears what is played into `mic`, and the murmur of a room: raw 16-bit stereo at the same rate.
    pub fn microphone(&mut self, rate: u32, murmur: &Path) {
        self.load_sink("mic", rate);
        assert!(self.pactl(&["set-default-source", "mic.monitor"]).0);
        let mut pacat = self.command("pacat");
        pacat.args(["--playback", "--latency-msec=100", "--raw", "--format=s16le", "--channels=2", "-d", "mic"]);
        pacat.arg(format!("--rate={rate}")).arg(murmur).stdout(Stdio::null()).stderr(Stdio::null());
        self.others.push(pacat.spawn().unwrap());
    }

    /// Runs a command as long as the server is there; what it writes.
    pub fn run(&mut self, mut command: Command) -> ChildStdout {
        let mut child = command.stdout(Stdio::piped()).spawn().unwrap();
        let stdout = child.stdout.take().unwrap();
        self.others.push(child);
        stdout
    }

    /// Begins to play a WAV file into an output.
    pub fn feed(&mut self, sink: &str, file: &Path) {
        let child = self.paplay(sink, file).spawn().unwrap();
        self.others.push(child);
    }

    /// Plays a WAV file into an output to its end.
    pub fn play(&self, sink: &str, file: &Path) {
        assert!(self.paplay(sink, file).status().unwrap().success());
    }

    fn paplay(&self, sink: &str, file: &Path) -> Command {
        let mut paplay = self.command("paplay");
        paplay.args(["--latency-msec=100", "-d", sink]).arg(file).stdout(Stdio::null()).stderr(Stdio::null());
        paplay
    }

    /// Kills the daemon.
    pub fn down(&mut self) {
        if let Some(mut daemon) = self.daemon.take() {
            daemon.kill().unwrap();
            daemon.wait().unwrap();
        }
    }

    /// Sends the daemon a signal by its name.
    pub fn signal(&self, name: &str) {
        signal(self.daemon.as_ref().unwrap(), name);
    }

    /// Whether it went well, and what was printed.
    pub fn pactl(&self, args: &[&str]) -> (bool, String) {
        let output = self.command("pactl").args(args).output().unwrap();
        (output.status.success(), String::from_utf8_lossy(&output.stdout).into_owned())
    }

    /// Takes an output away.
    pub fn unload_sink(&self, name: &str) {
        let (_, modules) = self.pactl(&["list", "short", "modules"]);
        let name = format!("sink_name={name} ");
        let line = modules.lines().find(|line| line.contains(&name)).unwrap();
        assert!(self.pactl(&["unload-module", line.split_whitespace().next().unwrap()]).0);
    }

    /// An output at a rate.
    pub fn load_sink(&self, name: &str, rate: u32) {
        self.load_sink_called(name, name, rate);
    }

    /// An output that people know by one word.
    pub fn load_sink_called(&self, name: &str, called: &str, rate: u32) {
        let (name, rate) = (format!("sink_name={name}"), format!("rate={rate}"));
        let called = format!("sink_properties=device.description={called}");
        let sink = ["load-module", "module-null-sink", &name, &rate, "channels=2", "format=s16le", &called];
        assert!(self.pactl(&sink).0);
    }

    /// Records what the output plays into a file of raw 16-bit stereo, from now on.
    pub fn record(&mut self, file: &Path, rate: u32) {
        let mut parec = self.command("parec");
        parec.args(["--raw", "--format=s16le", "--channels=2", "--latency-msec=500", "-d", "out.monitor"]);
        parec.arg(format!("--rate={rate}")).stdout(std::fs::File::create(file).unwrap());
        self.others.push(parec.stderr(Stdio::null()).spawn().unwrap());
        sleep(Duration::from_millis(500));
    }
}

/// Sends a process a signal by its name.
pub fn signal(child: &Child, name: &str) {
    assert!(Command::new("kill").args([&format!("-{name}"), &child.id().to_string()]).status().unwrap().success());
}

impl Drop for Server {
    fn drop(&mut self) {
        for child in self.others.iter_mut().chain(&mut self.daemon) {
            // A stopped process dies of this too; one that is dead already is as wished.
            let _ = child.kill();
            let _ = child.wait();
        }
    }
}
