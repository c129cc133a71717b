//! Whatever this house calls YAML is YAML to a parser of another family too (`libyaml-safer`, a translation of libyaml; the
//! program's own parser descends from another one): an editor must be able to read and colour every script.

use lengthwise::diag::explain::{ExampleFile, page};
use lengthwise::diag::{Code, Severity, Sources};
use lengthwise::pack::builtin;
use lengthwise::script::templates;
use lengthwise::whiteboard::context::{BoardContext, BoardWater};
use lengthwise::whiteboard::{read, write};
use libyaml_safer::{EventData, Parser};
use std::fs;
use std::path::Path;

/// What another parser says of a text: how many documents it has.
fn documents(text: &str) -> Result<usize, String> {
    let mut bytes = text.as_bytes();
    let mut parser = Parser::new();
    parser.set_input_string(&mut bytes);
    let mut documents = 0;
    loop {
        match parser.parse().map_err(|error| error.to_string())?.data {
            EventData::DocumentStart { .. } => documents += 1,
            EventData::StreamEnd => return Ok(documents),
            _ => {}
        }
    }
}

/// The YAML blocks of a page.
fn blocks(page: &str) -> Vec<(String, String)> {
    let text = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(page)).unwrap();
    text.split("```yaml\n")
        .skip(1)
        .map(|rest| (page.to_owned(), rest.split("```").next().unwrap().to_owned()))
        .collect()
}

/// What `new --from` writes for a board.
fn written(board: &str) -> String {
    let mut sources = Sources::new();
    let id = sources.add("board", board);
    let known = BoardContext { water: BoardWater::parse("25 m").unwrap(), drills: Vec::new(), phrases: Vec::new() };
    let (read, problems) = read::read(id, &sources, &known);
    assert_eq!(problems, [], "{board}");
    write::write(&read.unwrap(), &known, write::Heading { title: "A \"title\": odd", pack: "first-lengths" }, &sources)
        .text
}

#[test]
fn every_script_and_example_is_yaml_by_another_parser() {
    let mut texts = Vec::new();
    texts.extend(templates::ALL.iter().map(|template| (template.name.to_owned(), template.text.to_owned())));
    let packs = builtin::packs().iter().flat_map(|pack| pack.scripts());
    texts.extend(packs.map(|script| (script.name.to_owned(), script.text.to_owned())));
    for page in ["cue-packs/README.md", "cue-packs/LANGUAGE.md", "cue-packs/SWIMMERS.md"] {
        texts.extend(blocks(page));
    }
    for entry in fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/scripts/deck")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|ending| ending == "yaml") {
            texts.push((path.display().to_string(), fs::read_to_string(&path).unwrap()));
        }
    }
    for code in Code::ALL {
        let page = page(*code).unwrap();
        // What is wrong in an error's example may be its YAML.
        let wrong = page.wrong.iter().filter(|_| code.severity() == Severity::Caution);
        for part in page.mended.iter().chain(wrong) {
            match part {
                ExampleFile::Script(text) => texts.push((code.word().to_owned(), (*text).to_owned())),
                ExampleFile::File(name, text) if name.ends_with(".yaml") => {
                    texts.push((format!("{} {name}", code.word()), (*text).to_owned()));
                }
                _ => {}
            }
        }
    }
    for board in ["200 easy; 50-100-50 r15; 3x(50 kick + 2x25 fast r10) 1:00 between rounds; 100 easy", "4x100 on 2:15"]
    {
        texts.push((board.to_owned(), written(board)));
    }
    assert!(texts.len() > 90, "only {} texts were found", texts.len());
    for (name, text) in texts {
        assert_eq!(documents(&text), Ok(1), "{name}:\n{text}");
    }
}

#[test]
fn the_other_parser_refuses_what_is_not_yaml() {
    for text in ["swim: [50, 100] m\n", "a: { b: c\n", "a: b: c\n", "a:\n\t- b\n"] {
        assert!(documents(text).is_err(), "{text}");
    }
    assert_eq!(documents("a: b\n---\nc: d\n"), Ok(2));
}
