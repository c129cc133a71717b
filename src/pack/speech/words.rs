//! A text of a script or a pack as plain English words for an engine: letters, blanks, apostrophes and the marks of pauses,
//! nothing else. Whatever a text holds, none of it reaches the engine as anything but words.

use super::number::{cardinal, digits, ordinal};

/// No more of the words is spoken: about half a minute, as long as the longest text of a pack.
const MOST: usize = 400;

/// Signs with their words.
const SIGNS: [(char, &str); 14] = [
    ('&', "and"),
    ('+', "plus"),
    ('=', "equals"),
    ('%', "percent"),
    ('@', "at"),
    ('×', "times"),
    ('º', ""),
    ('ª', ""),
    ('°', "degrees"),
    ('½', "a half"),
    ('¼', "a quarter"),
    ('¾', "three quarters"),
    ('№', "number"),
    ('<', "less than"),
];

/// Units behind a number: one of it, more of it.
const UNITS: [(&str, &str, &str); 19] = [
    ("m", "metre", "metres"),
    ("km", "kilometre", "kilometres"),
    ("cm", "centimetre", "centimetres"),
    ("mm", "millimetre", "millimetres"),
    ("yd", "yard", "yards"),
    ("yds", "yard", "yards"),
    ("ft", "foot", "feet"),
    ("s", "second", "seconds"),
    ("sec", "second", "seconds"),
    ("secs", "second", "seconds"),
    ("ms", "millisecond", "milliseconds"),
    ("min", "minute", "minutes"),
    ("mins", "minute", "minutes"),
    ("h", "hour", "hours"),
    ("hr", "hour", "hours"),
    ("kg", "kilogram", "kilograms"),
    ("hz", "hertz", "hertz"),
    ("db", "decibel", "decibels"),
    ("bpm", "beat a minute", "beats a minute"),
];

/// Short forms that stand for a word; those with a dot only with it.
const SHORT: [(&str, &str); 12] = [
    ("no.", "number"),
    ("nº", "number"),
    ("n°", "number"),
    ("vs", "versus"),
    ("vs.", "versus"),
    ("e.g.", "for example"),
    ("i.e.", "that is"),
    ("etc.", "and so on"),
    ("reps", "reps"),
    ("w/", "with"),
    ("w/o", "without"),
    ("mr.", "mister"),
];

/// The words of a text; empty where it has none.
pub fn of(text: &str) -> String {
    let text = without_markup(text);
    let mut words = Words::default();
    for token in text.split(|c: char| c.is_whitespace() || c.is_control()).filter(|token| !token.is_empty()) {
        words.token(token);
    }
    words.finish()
}

/// Without what looks like markup: `<` and a letter, `/`, `!` or `?` behind it, up to the next `>` if one comes.
fn without_markup(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find('<') {
        let (before, tag) = rest.split_at(at);
        plain.push_str(before);
        let looks = tag.chars().nth(1).is_some_and(|c| c.is_alphabetic() || "/!?".contains(c));
        let end = if looks { tag.find('>') } else { None };
        if end.is_none() {
            plain.push_str(" < ");
        }
        rest = tag.split_at(end.unwrap_or(0) + 1).1;
        plain.push(' ');
    }
    plain + rest
}

/// A letter without its accent, or the letters that stand for it; empty for what is not a letter of Latin script.
fn folded(c: char) -> &'static str {
    /// Each letter with the accented ones that are spoken alike.
    const FOLDED: [(&str, &str); 20] = [
        ("a", "àáâãāăąǎ"),
        ("c", "çćĉċč"),
        ("d", "ďđð"),
        ("e", "èéêëēĕėęě"),
        ("g", "ĝğġģ"),
        ("h", "ĥħ"),
        ("i", "ìíîïĩīĭįı"),
        ("j", "ĵ"),
        ("k", "ķ"),
        ("l", "ĺļľł"),
        ("n", "ñńņňŋ"),
        ("o", "òóôõōŏő"),
        ("r", "ŕŗř"),
        ("s", "śŝşšș"),
        ("t", "ţťŧț"),
        ("u", "ùúûũūŭůűų"),
        ("w", "ŵ"),
        ("y", "ýÿŷ"),
        ("z", "źżž"),
        ("th", "þ"),
    ];
    match c {
        'ä' | 'æ' | 'å' => "a",
        'ö' | 'ø' | 'œ' => "o",
        'ü' => "u",
        'ß' => "ss",
        '\'' | '’' | '‘' | 'ʼ' | '`' | '´' => "'",
        _ => FOLDED.iter().find(|(_, accented)| accented.contains(c)).map_or("", |(plain, _)| plain),
    }
}

/// The words so far.
#[derive(Default)]
struct Words {
    text: String,
    /// The last number counts one of whatever follows, or several; no number came last where absent.
    one: Option<bool>,
}

impl Words {
    fn word(&mut self, word: &str) {
        if !word.is_empty() {
            if !self.text.is_empty() {
                self.text.push(' ');
            }
            self.text.push_str(word);
        }
    }

    /// A pause: behind a word, and only one.
    fn pause(&mut self, mark: char) {
        if self.text.ends_with(|c: char| c.is_ascii_alphabetic() || c == '\'') {
            self.text.push(mark);
        }
    }

    /// What stands between blanks: numbers, words and signs in any order.
    fn token(&mut self, token: &str) {
        let lower = token.to_lowercase();
        if let Some((_, word)) = SHORT.iter().find(|(short, _)| *short == lower) {
            self.word(word);
            return;
        }
        let mut rest = lower.as_str();
        let numbered = |short: &str| rest.strip_prefix(short).filter(|n| n.starts_with(|c: char| c.is_ascii_digit()));
        if let Some(number) = ["nº", "n°", "no."].into_iter().find_map(numbered) {
            self.word("number");
            rest = number;
        }
        let mut before = None;
        while let Some(c) = rest.chars().next() {
            let number = number(rest, before);
            if let Some((words, one, length)) = number {
                self.word(&words);
                self.one = Some(one);
                rest = rest.split_at(length).1;
                before = Some('0');
                continue;
            }
            let letter = |c: char| c.is_alphabetic() && !matches!(c, 'º' | 'ª');
            let end = rest.find(|c: char| !letter(c) && !"'’‘ʼ".contains(c)).unwrap_or(rest.len());
            let (run, behind) = rest.split_at(end);
            if run.is_empty() {
                rest = rest.split_at(c.len_utf8()).1;
                self.sign(c, before, rest);
            } else {
                self.run(run, before, behind);
                rest = behind;
            }
            before = run.chars().last().or(Some(c));
        }
    }

    /// A run of letters, with what stands before and behind it.
    fn run(&mut self, run: &str, before: Option<char>, behind: &str) {
        let one = self.one.take();
        if run == "x" && (one.is_some() || behind.starts_with(|c: char| c.is_ascii_digit())) {
            return self.word("times");
        }
        if let Some((_, single, several)) = UNITS.iter().find(|(unit, ..)| *unit == run) {
            match (before, one) {
                (Some('/'), _) => return self.word(single),
                (_, Some(one)) => return self.word(if one { single } else { several }),
                _ => {}
            }
        }
        let letter = |c: char| if c.is_ascii_alphabetic() { c.to_string() } else { folded(c).to_owned() };
        let word: String = run.chars().map(letter).collect();
        self.word(word.trim_matches('\''));
    }

    /// Any other sign.
    fn sign(&mut self, c: char, before: Option<char>, behind: &str) {
        let digit = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
        let next = behind.chars().next();
        match c {
            ',' | ';' | ':' | '(' | ')' | '—' | '[' | ']' | '|' => self.pause(','),
            '.' | '…' | '•' | '·' => self.pause('.'),
            '?' | '!' => self.pause(c),
            '–' | '-' | '−' if digit(before) && digit(next) => self.word("to"),
            '−' if digit(next) => self.word("minus"),
            '-' if before.is_none() && digit(next) => self.word("minus"),
            '–' => self.pause(','),
            '/' if behind.starts_with("min") || behind.starts_with('s') && behind.len() == 1 => self.word("a"),
            '/' if digit(next) => self.word("per"),
            '#' if digit(next) => self.word("number"),
            // An unwritten blank: "in/out", "kick-swim".
            _ => self.word(SIGNS.iter().find(|(sign, _)| *sign == c).map_or("", |(_, word)| word)),
        }
    }

    fn finish(self) -> String {
        let mut text = self.text;
        if text.len() > MOST {
            // ASCII only: every byte is a character.
            text.truncate(MOST);
            text.truncate(text.rfind(' ').unwrap_or(MOST));
        }
        text.trim_end_matches([',', ' ']).to_owned()
    }
}

/// A number at the beginning of a token: its words, whether it counts one thing, and its length in bytes.
fn number(text: &str, before: Option<char>) -> Option<(String, bool, usize)> {
    let run = |text: &str| text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len());
    let end = run(text);
    let (whole, behind) = text.split_at(end);
    if whole.is_empty() {
        // ".5" and ":45", as they stand on a board.
        let (sign, rest) = text.split_at_checked(1)?;
        let digits_end = run(rest);
        let fraction =
            rest.get(..digits_end).filter(|f| !f.is_empty() && !before.is_some_and(char::is_alphanumeric))?;
        return match sign {
            "." => Some((format!("point {}", digits(fraction)), false, 1 + digits_end)),
            ":" if fraction.len() == 2 => Some((seconds(fraction)?, false, 3)),
            _ => None,
        };
    }
    // Times: 1:05, 1:02.5, 1:10:00.
    let fields: Vec<&str> = text.split(|c: char| !c.is_ascii_digit() && c != ':').next()?.split(':').collect();
    if let [hours_or_minutes, middle @ .., last] = fields.as_slice()
        && middle.len() <= 1
        && middle.iter().chain([last]).all(|field| field.len() == 2)
        && !hours_or_minutes.is_empty()
    {
        let length = fields.iter().map(|field| field.len()).sum::<usize>() + fields.len() - 1;
        return Some(clock(hours_or_minutes, middle.first().copied(), last, text.get(length..)?, length));
    }
    // Thousands: 1,500.
    let mut end = end;
    let mut joined = whole.to_owned();
    while joined.len() <= 6 && text.get(end..).is_some_and(|rest| rest.starts_with(',') && run(&rest[1..]) == 3) {
        joined.push_str(text.get(end + 1..end + 4)?);
        end += 4;
    }
    let tail = text.get(end..)?;
    if let Some(fraction) = tail.strip_prefix('.').map(|rest| &rest[..run(rest)]).filter(|f| !f.is_empty()) {
        let shown = fraction.trim_end_matches('0');
        let words =
            if shown.is_empty() { value(&joined) } else { format!("{} point {}", value(&joined), digits(shown)) };
        return Some((words, false, end + 1 + fraction.len()));
    }
    for ending in ["st", "nd", "rd", "th"] {
        let apart = behind.get(2..).is_some_and(|rest| !rest.starts_with(char::is_alphabetic));
        if tail.starts_with(ending) && apart && joined.len() <= 3 {
            return Some((ordinal(joined.parse().ok()?), false, end + 2));
        }
    }
    let one = joined == "1";
    Some((value(&joined), one, end))
}

/// Whole numbers as one; with a leading zero, or too long for that, digit by digit.
fn value(whole: &str) -> String {
    match whole.parse::<u64>() {
        Ok(n) if whole.len() <= 9 && (whole == "0" || !whole.starts_with('0')) => cardinal(n),
        _ => digits(whole),
    }
}

/// "forty five seconds" of two digits.
fn seconds(two: &str) -> Option<String> {
    Some(format!("{} seconds", cardinal(two.parse().ok()?)))
}

/// A time: "one oh five", "two minutes", "forty five seconds", "one hour ten".
fn clock(first: &str, middle: Option<&str>, last: &str, behind: &str, length: usize) -> (String, bool, usize) {
    let pair = |two: &str| match two.strip_prefix('0') {
        Some(digit) => format!("oh {}", digits(digit)),
        None => value(two),
    };
    let fraction = behind
        .strip_prefix('.')
        .map_or("", |rest| rest.split(|c: char| !c.is_ascii_digit()).next().unwrap_or_default());
    let zero = first.trim_matches('0').is_empty();
    let mut words = match (middle, zero) {
        (None, true) if fraction.is_empty() => format!("{} seconds", value(last.trim_start_matches('0'))),
        (None, true) => value(last.trim_start_matches('0')),
        (None, false) if last == "00" && fraction.is_empty() => {
            format!("{} {}", value(first), if first == "1" { "minute" } else { "minutes" })
        }
        (None, false) => format!("{} {}", value(first), pair(last)),
        (Some(minutes), _) => {
            let hours = if first == "1" { "hour" } else { "hours" };
            let minutes =
                if minutes == "00" { String::new() } else { format!(" {}", value(minutes.trim_start_matches('0'))) };
            let seconds = if last == "00" { String::new() } else { format!(" {}", pair(last)) };
            format!("{} {hours}{minutes}{seconds}", value(first))
        }
    };
    if fraction.is_empty() {
        return (words, false, length);
    }
    words.push_str(&format!(" point {}", digits(fraction)));
    if zero && middle.is_none() {
        words.push_str(" seconds");
    }
    (words, false, length + 1 + fraction.len())
}

#[cfg(test)]
mod tests {
    use super::of;
    use proptest::prelude::*;

    #[test]
    fn numbers_are_spoken_as_on_deck() {
        for (text, words) in [
            ("on 1:05", "on one oh five"),
            ("leave on 2:00", "leave on two minutes"),
            ("0:45 rest", "forty five seconds rest"),
            ("4x50 on :45", "four times fifty on forty five seconds"),
            ("best 1:02.5", "best one oh two point five"),
            ("1:10:00 in all", "one hour ten in all"),
            ("4 x 50 m", "four times fifty metres"),
            ("4x50m easy", "four times fifty metres easy"),
            ("3 × 100", "three times one hundred"),
            ("100 m", "one hundred metres"),
            ("1 m apart", "one metre apart"),
            ("25 yd", "twenty five yards"),
            ("0.95 s", "zero point nine five seconds"),
            ("tempo 1.30", "tempo one point three"),
            ("1.40-1.20 s", "one point four to one point two seconds"),
            ("50 /min", "fifty a minute"),
            ("52 strokes/min", "fifty two strokes a minute"),
            ("2:05 /100", "two oh five per one hundred"),
            ("1,500 m", "one thousand five hundred metres"),
            ("Nº 3", "number three"),
            ("nº3", "number three"),
            ("#2", "number two"),
            ("lane 007", "lane zero zero seven"),
            ("the 2nd length", "the second length"),
            ("12345678901234", "one two three four five six seven eight nine zero one two three four"),
            ("80%", "eighty percent"),
            ("-3 dB", "minus three decibels"),
            ("3-5 strokes", "three to five strokes"),
            (".5 s early", "point five seconds early"),
        ] {
            assert_eq!(of(text), words, "{text}");
        }
    }

    #[test]
    fn words_stay_words() {
        for (text, words) in [
            ("Reach forward, head still!", "reach forward, head still!"),
            ("Don’t rush", "don't rush"),
            ("'quoted'", "quoted"),
            ("kick-swim", "kick swim"),
            ("in/out", "in out"),
            ("breathe out — all of it", "breathe out, all of it"),
            ("Zoë Müller & Ås", "zoe muller and as"),
            ("soft hand 🏊‍♀️ 🌊", "soft hand"),
            ("s is a letter", "s is a letter"),
            ("wait... go", "wait. go"),
            ("x marks it", "x marks it"),
            ("плавать", ""),
            ("", ""),
            ("…", ""),
        ] {
            assert_eq!(of(text), words, "{text}");
        }
    }

    #[test]
    fn markup_is_never_obeyed() {
        for (text, words) in [
            ("<volume level='0'>loud</volume>", "loud"),
            ("a <speed level=\"500\"> b", "a b"),
            ("<play file='/etc/passwd'/>x", "x"),
            ("5 < 6 m", "five less than six metres"),
            ("unclosed <pitch level='10'", "unclosed less than pitch level equals ten"),
            ("<<b>>", "less than"),
            ("a\0b\u{1b}[31m", "a b, thirty one metres"),
        ] {
            assert_eq!(of(text), words, "{text}");
        }
    }

    proptest! {
        #![proptest_config(crate::cases::cases(64))]

        #[test]
        fn nothing_but_words_comes_out(text in "\\PC{0,40}[<>/0-9:., x'=m%-]{0,60}\\PC{0,20}|.{0,900}") {
            let words = of(&text);
            prop_assert!(words.len() <= super::MOST);
            prop_assert!(words.chars().all(|c| c.is_ascii_lowercase() || " ',.?!".contains(c)), "{words:?}");
            prop_assert!(!words.starts_with([' ', ',']) && !words.ends_with([' ', ',']) && !words.contains("  "), "{words:?}");
        }
    }
}
