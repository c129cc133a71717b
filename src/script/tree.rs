//! The walk over a YAML tree: maps with known keys, lists, single values, and every mistake in them.
//!
//! Used by the script and by the manifests of packs. Nothing here knows a key of either: callers say which keys
//! a map may have and how each value is read.

use crate::diag::{Code, Diagnostic, Span, Spanned, crop};
use crate::script::quantity::{Misread, Read};
use crate::script::synonyms::meant;
use crate::script::yaml::{Node, NodeKind};

/// The most characters of an id.
const LONGEST_ID: usize = 64;

/// The problems found so far.
pub type Problems = Vec<Diagnostic>;

/// A map whose keys are known: what it lacks and what it should not have is reported.
#[derive(Clone, Copy)]
pub struct Fields<'n> {
    pairs: &'n [(Spanned<String>, Node)],
    /// Where the map stands.
    pub span: Span,
    what: &'static str,
    allowed: &'n [&'n str],
    cut: bool,
}

impl<'n> Fields<'n> {
    /// The node as a map with no keys but `allowed`. `what` names it in messages: "a set", "the map of settings".
    /// `None` where it is not a map; both that and each unknown key are reported.
    pub fn of(node: &'n Node, what: &'static str, allowed: &'n [&'n str], problems: &mut Problems) -> Option<Self> {
        let pairs = pairs(node, what, problems)?;
        for (key, _) in pairs.iter().filter(|(key, _)| !allowed.contains(&key.value.as_str())) {
            problems.push(unknown(key, what, allowed));
        }
        Some(Self { pairs, span: node.span, what, allowed, cut: node.cut })
    }

    /// The value of a key, if it is there.
    pub fn get(&self, key: &str) -> Option<&'n Node> {
        self.pairs.iter().find(|(name, _)| name.value == key).map(|(_, node)| node)
    }

    /// Where a key itself stands.
    pub fn key(&self, key: &str) -> Option<Span> {
        self.pairs.iter().find(|(name, _)| name.value == key).map(|(name, _)| name.span)
    }

    /// The key that stands first.
    pub fn first(&self) -> Option<&'n Spanned<String>> {
        self.pairs.first().map(|(key, _)| key)
    }

    /// The value of a key that must be there. `example` shows how to write it.
    pub fn require(&self, key: &str, example: &str, problems: &mut Problems) -> Option<&'n Node> {
        let found = self.get(key);
        if found.is_none() && !self.misspelt(key) {
            self.lacks(&format!("`{key}`"), example, problems);
        }
        found
    }

    /// Whether an unknown key, already reported, was most likely meant for this one: one mistake, one problem.
    pub fn misspelt(&self, key: &str) -> bool {
        let names = self.pairs.iter().map(|(name, _)| name.value.as_str());
        names
            .filter(|name| !self.allowed.contains(name))
            .any(|name| meant(name, self.allowed.iter().copied()) == Some(key))
    }

    /// Reports that something is missing, unless the text broke off inside the map.
    pub fn lacks(&self, thing: &str, example: &str, problems: &mut Problems) {
        if !self.cut {
            // The whole map would be marked: its first key says as much in one line.
            let span = self.first().map_or(self.span, |key| key.span);
            let problem = Diagnostic::at(Code::MissingKey, span, format!("{} lacks {thing}", self.what));
            problems.push(problem.hint(format!("for example `{example}`")));
        }
    }

    /// The value of a key, read by `parse`, if the key is there and reads well.
    pub fn read<T>(&self, key: &str, parse: impl Fn(&str) -> Read<T>, problems: &mut Problems) -> Option<Spanned<T>> {
        read(self.get(key)?, key, parse, problems)
    }

    /// The text of a key, if the key is there: not empty, one line, at most `longest` characters.
    pub fn text(&self, key: &str, longest: usize, problems: &mut Problems) -> Option<Spanned<String>> {
        text(self.get(key)?, key, longest, problems)
    }

    /// The value of a key that is one of a list of words.
    pub fn word<T: Copy>(&self, key: &str, words: &[(&str, T)], problems: &mut Problems) -> Option<Spanned<T>> {
        self.read(key, |text| pick(text, key, words), problems)
    }
}

/// A map with keys of any name, such as phrases by their id. Reports what is not a map; `what` as in [`shape`].
pub fn pairs<'n>(node: &'n Node, what: &str, problems: &mut Problems) -> Option<&'n [(Spanned<String>, Node)]> {
    match &node.kind {
        NodeKind::Map(pairs) => Some(pairs),
        _ => {
            let before = problems.len();
            shape(node, what, "a map of keys and values", problems);
            // `- set:Easy` is one text to YAML.
            if let (NodeKind::Scalar(scalar), Some(problem)) = (&node.kind, problems.get_mut(before))
                && let Some((name, value)) = scalar.text.split_once(':')
                && !value.starts_with(' ')
                && name.chars().all(|c| c.is_alphabetic() || c == '-')
            {
                let hint = format!("a blank is missing after the colon: `{}: {}`", crop(name), crop(value.trim()));
                problem.hint = Some(hint);
            }
            None
        }
    }
}

/// A list. Reports what is none.
pub fn list<'n>(node: &'n Node, what: &str, problems: &mut Problems) -> Option<&'n [Node]> {
    match &node.kind {
        NodeKind::List(items) => Some(items),
        _ => {
            shape(node, &format!("`{what}`"), "a list", problems);
            None
        }
    }
}

/// A single value read by `parse`. Reports another shape, no value, and what `parse` does not take.
pub fn read<T>(
    node: &Node,
    what: &str,
    parse: impl Fn(&str) -> Read<T>,
    problems: &mut Problems,
) -> Option<Spanned<T>> {
    let NodeKind::Scalar(scalar) = &node.kind else {
        shape(node, &format!("`{what}`"), "a single value", problems);
        return None;
    };
    if scalar.text.trim().is_empty() {
        problems.push(Diagnostic::at(Code::BadValue, node.span, format!("`{what}` is given no value")));
        return None;
    }
    match parse(&scalar.text) {
        Ok(value) => Some(Spanned::new(value, node.span)),
        Err(fault) => {
            problems.push(fault.at(node));
            None
        }
    }
}

/// A text of one line: not empty, at most `longest` characters.
pub fn text(node: &Node, what: &str, longest: usize, problems: &mut Problems) -> Option<Spanned<String>> {
    let one_line = |text: &str| {
        let length = text.chars().count();
        if text.trim_end().chars().any(char::is_control) {
            return Err(Misread::new(Code::BadValue, text, format!("`{what}` is one line of text"))
                .hint("write it on one line, without tabs"));
        }
        if length > longest {
            let message = format!("`{what}` has {length} characters; at most {longest} are allowed");
            return Err(Misread::new(Code::OutOfRange, text, message));
        }
        Ok(text.trim().to_owned())
    };
    read(node, what, one_line, problems)
}

/// The id of something in a pack or script: letters, digits, `-` and `_`, so that it can name a file too.
pub fn id(node: &Node, what: &str, problems: &mut Problems) -> Option<Spanned<String>> {
    read(node, what, |text| parse_id(text, what), problems)
}

/// Checks the letters of an id, such as a key of `beats`.
pub fn parse_id(text: &str, what: &str) -> Read<String> {
    let allowed = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_');
    let text_found = text.trim();
    if text_found.chars().all(allowed) && text_found.chars().count() <= LONGEST_ID {
        return Ok(text_found.to_owned());
    }
    let message = format!(
        "`{}` is no name for `{what}`: letters, digits and `-` are allowed, at most {LONGEST_ID}",
        crop(text_found)
    );
    let fault = Misread::new(Code::BadValue, text, message);
    if text_found.contains(',') {
        return Err(fault.hint(format!("several are a list: `[{}]`", crop(text_found))));
    }
    let slug: Vec<String> =
        text_found.split(|c| !allowed(c)).filter(|part| !part.is_empty()).map(str::to_lowercase).collect();
    Err(if slug.is_empty() { fault } else { fault.hint(format!("`{}`?", crop(&slug.join("-")))) })
}

/// One of a list of words, in any case of letters.
pub fn pick<T: Copy>(text: &str, what: &str, words: &[(&str, T)]) -> Read<T> {
    let found = text.trim().to_lowercase();
    if let Some((_, value)) = words.iter().find(|(word, _)| *word == found) {
        return Ok(*value);
    }
    let names: Vec<_> = words.iter().map(|(word, _)| *word).collect();
    let message = format!("`{what}` is `{}`; allowed: {}", crop(text), either(&names));
    let fault = Misread::new(Code::BadValue, text, message);
    if found.contains(',') {
        return Err(fault.hint(format!("several are a list: `[{}]`", crop(text.trim()))));
    }
    Err(match meant(&found, names.iter().copied()) {
        Some(name) => fault.hint(format!("did you mean `{name}`?")),
        None => fault,
    })
}

/// Reports a wrong shape. `what` is put into the message as it is: "a set", "`beats`". Where the text broke off
/// inside the node, its shape may not be what was meant, and that it broke off is reported already.
pub fn shape(node: &Node, what: &str, wanted: &str, problems: &mut Problems) {
    if !node.cut {
        let found = if node.is_nothing() { "nothing" } else { node.shape() };
        problems.push(Diagnostic::at(Code::WrongShape, node.span, format!("{what} is {wanted}; found {found}")));
    }
}

fn unknown(key: &Spanned<String>, what: &str, allowed: &[&str]) -> Diagnostic {
    let known = either(allowed);
    let problem = Diagnostic::at(Code::UnknownKey, key.span, format!("{what} has no key `{}`", crop(&key.value)));
    // `{ from: 1,30 s }` reaches us as a key `30 s`.
    if key.value.starts_with(|first: char| first.is_ascii_digit()) {
        return problem.hint("in braces a comma separates entries: write `1.30`, not `1,30`");
    }
    if let Some((name, value)) = key.value.split_once(':').filter(|(name, _)| allowed.contains(name)) {
        return problem.hint(format!("a blank is missing after the colon: `{name}: {}`", crop(value.trim())));
    }
    // The nearest of many is enough to go on with; of a few it costs nothing to see all.
    const FEW: usize = 12;
    match meant(&key.value, allowed.iter().copied()) {
        Some(name) if allowed.len() > FEW => problem.hint(format!("did you mean `{name}`?")),
        Some(name) => problem.hint(format!("did you mean `{name}`? Allowed: {known}")),
        None => problem.hint(format!("allowed: {known}")),
    }
}

/// Words as a reader wants them: `a`, `b` or `c`.
fn either(words: &[&str]) -> String {
    let quoted: Vec<_> = words.iter().map(|word| format!("`{word}`")).collect();
    match quoted.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} or {last}", rest.join(", ")),
        _ => quoted.concat(),
    }
}
