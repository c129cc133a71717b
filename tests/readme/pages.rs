//! The pages gone through as by a reader: files saved, lines run, what is printed compared.

use super::{Block, blocks, pages, root, taken};
use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::Mutex;

/// A reader's empty folder, and a home that is not in it.
struct Reader {
    folder: tempfile::TempDir,
    home: tempfile::TempDir,
}

impl Reader {
    fn new() -> Self {
        Self { folder: tempfile::tempdir().unwrap(), home: tempfile::tempdir().unwrap() }
    }

    fn save(&self, name: &str, text: &str) {
        let path = self.folder.path().join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }

    /// A line in a shell: messages first, as they are not buffered.
    fn run(&self, line: &str) -> Output {
        let mut path = vec![Path::new(env!("CARGO_BIN_EXE_lengthwise")).parent().unwrap().to_owned()];
        path.extend(std::env::split_paths(&std::env::var_os("PATH").unwrap()));
        let mut shell = Command::new("sh");
        shell.args(["-c", &format!("{{ {line}\n}} 2>&1")]).current_dir(&self.folder);
        for variable in ["XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_STATE_HOME", "LENGTHWISE_NOTEBOOK"] {
            shell.env_remove(variable);
        }
        shell
            .env("HOME", self.home.path())
            .env("PATH", std::env::join_paths(path).unwrap())
            .env("COLUMNS", "100")
            .output()
            .unwrap()
    }
}

/// What came of a page: its text as it should read, what is wrong with it, and how many examples ran.
#[derive(Default)]
struct Read {
    text: String,
    wrong: Vec<String>,
    ran: usize,
}

/// Goes through a page from top to bottom.
fn read(page: &Path, text: &str) -> Read {
    let reader = Reader::new();
    let mut read = Read { text: text.to_owned(), ..Read::default() };
    for block in blocks(text) {
        match block.fence {
            "yaml" | "csv" => save(&reader, &block, &mut read),
            "console" => console(&reader, &block, &mut read),
            // What builds the program from nothing is what runs this test.
            "sh" if block.text.contains("cargo ") => {}
            "sh" => {
                for line in block.text.lines() {
                    let output = reader.run(line);
                    read.ran += 1;
                    if !output.status.success() {
                        read.wrong.push(format!("{line}\n{}", String::from_utf8_lossy(&output.stdout)));
                    }
                }
            }
            "sh device" | "sh telephone" => {
                read.ran += block.text.lines().count();
                read.wrong.extend(block.text.lines().filter_map(|line| taken(line).err()));
            }
            "sh voice" | "text" => {}
            other => read.wrong.push(format!("nobody knows what `{other}` is: {}", block.text)),
        }
    }
    read.wrong.iter_mut().for_each(|wrong| *wrong = format!("{}: {wrong}", page.display()));
    read
}

/// A file to be saved; one that nothing is made of later is at least free of problems.
fn save(reader: &Reader, block: &Block<'_>, read: &mut Read) {
    let name = block.name().unwrap_or("example.yaml");
    reader.save(name, block.text);
    read.ran += 1;
    if block.text.starts_with("lengthwise:") {
        let output = reader.run(&format!("lengthwise check {name}"));
        if !output.status.success() {
            read.wrong.push(format!("{name}\n{}", String::from_utf8_lossy(&output.stdout)));
        }
    } else if block.name().is_none() {
        read.wrong.push(format!("a block is saved as nothing:\n{}", block.text));
    }
}

fn console(reader: &Reader, block: &Block<'_>, read: &mut Read) {
    let mut printed = String::new();
    for command in block.text.lines().filter_map(|line| line.strip_prefix("$ ")) {
        let output = reader.run(command);
        let home = reader.home.path().to_str().unwrap();
        let told = String::from_utf8(output.stdout).unwrap().replace(home, "~");
        let told = told.trim_end();
        writeln!(printed, "$ {command}").unwrap();
        if !told.is_empty() {
            writeln!(printed, "{told}").unwrap();
        }
        read.ran += 1;
    }
    if printed != block.text {
        read.text = read.text.replace(block.text, &printed);
        read.wrong.push(format!("a console block should read\n{printed}"));
    }
}

#[test]
fn every_example_runs_in_an_empty_folder() {
    let found: Mutex<Vec<(PathBuf, Read)>> = Mutex::new(Vec::new());
    let pages = pages();
    // Side by side: each is a folder of its own, and some of their lines make sound.
    std::thread::scope(|scope| {
        for (path, text) in &pages {
            scope.spawn(|| {
                let read = read(path, text);
                found.lock().unwrap().push((path.clone(), read));
            });
        }
    });
    let found = found.into_inner().unwrap();
    let ran: usize = found.iter().map(|(_, read)| read.ran).sum();
    println!("{ran} examples ran");
    assert!(ran > 60, "{ran} examples");
    let bless = std::env::var_os("LENGTHWISE_BLESS").is_some();
    if bless {
        found.iter().for_each(|(path, read)| fs::write(root().join(path), &read.text).unwrap());
    }
    let console = |wrong: &&String| !bless || !wrong.contains("a console block should read");
    let wrong: Vec<&String> = found.iter().flat_map(|(_, read)| &read.wrong).filter(console).collect();
    let all = wrong.iter().fold(String::new(), |all, wrong| all + wrong + "\n");
    assert!(wrong.is_empty(), "{all}LENGTHWISE_BLESS=1 writes the console blocks");
}
