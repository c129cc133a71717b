//! A page for each code: what it means, why it matters in the water, an example that provokes it, and the mended one.
//!
//! The pages are text, `explain.md`, cut up here. How a page is printed is not here.

use crate::diag::Code;

const PAGES: &str = include_str!("explain.md");

/// A file of an example.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ExampleFile<'p> {
    /// The cue script itself.
    Script(&'p str),
    /// Another text beside the script: its path from there, and what is in it.
    File(&'p str, &'p str),
    /// A recording beside the script: its path from there, and how long it is, such as `3.4 s`.
    Sound(&'p str, &'p str),
}

/// The page of a code.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CodePage {
    /// What it means and why it matters, a paragraph each.
    pub text: Vec<String>,
    /// Files that together provoke the code and no error besides.
    pub wrong: Vec<ExampleFile<'static>>,
    /// What changes so that there is no problem; files not named here stay as they are.
    pub mended: Vec<ExampleFile<'static>>,
}

/// The page of a code. `None` only if the text of the pages lacks it, which a test forbids.
pub fn page(code: Code) -> Option<CodePage> {
    let page = PAGES.split("\n## ").skip(1).find_map(|page| page.strip_prefix(code.word())?.strip_prefix('\n'))?;
    let (text, examples) = page.split_once("\nWrong:\n")?;
    let (wrong, mended) = examples.split_once("\nMended:\n")?;
    let paragraphs = text.split("\n\n").map(|part| part.split_whitespace().collect::<Vec<_>>().join(" "));
    let text = paragraphs.filter(|part| !part.is_empty()).map(|part| part.replace("**", "")).collect();
    Some(CodePage { text, wrong: parts(wrong), mended: parts(mended) })
}

/// The fenced blocks of a text.
fn parts(text: &'static str) -> Vec<ExampleFile<'static>> {
    let fenced = text.split("```").skip(1).step_by(2).filter_map(|block| block.split_once('\n'));
    let part = |(head, body): (&'static str, &'static str)| match head.split_once(' ') {
        Some(("sound", name)) => ExampleFile::Sound(name, body.trim()),
        Some((_, name)) => ExampleFile::File(name, body),
        None => ExampleFile::Script(body),
    };
    fenced.map(part).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_code_has_a_page_and_every_page_a_code() {
        for code in Code::ALL {
            let page = page(*code).unwrap_or_else(|| panic!("explain.md has no page `{}`", code.word()));
            assert_eq!(page.text.len(), 2, "{}: what it means, then why", code.word());
            assert!(page.text[1].starts_with("Why. "), "{}", code.word());
            assert!(page.wrong.iter().any(|part| matches!(part, ExampleFile::Script(_))), "{}", code.word());
            assert!(!page.mended.is_empty(), "{}", code.word());
        }
        let headings: Vec<_> = PAGES.lines().filter_map(|line| line.strip_prefix("## ")).collect();
        assert_eq!(headings, Code::ALL.iter().map(|code| code.word()).collect::<Vec<_>>(), "in the order of the codes");
    }

    #[test]
    fn named_blocks_are_files() {
        let found = parts("a\n```yaml\nb: 1\n```\n```yaml c/pack.yaml\nd: 2\n```\n```sound c/e.wav\n1.5 s\n```\n");
        assert_eq!(
            found,
            [
                ExampleFile::Script("b: 1\n"),
                ExampleFile::File("c/pack.yaml", "d: 2\n"),
                ExampleFile::Sound("c/e.wav", "1.5 s")
            ]
        );
    }
}
