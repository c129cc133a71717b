//! Numbers as English words.

const SMALL: [&str; 20] = [
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
];
const TENS: [&str; 10] = ["", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"];
const ORDINALS: [(&str, &str); 8] = [
    ("one", "first"),
    ("two", "second"),
    ("three", "third"),
    ("five", "fifth"),
    ("eight", "eighth"),
    ("nine", "ninth"),
    ("twelve", "twelfth"),
    ("ty", "tieth"),
];

/// A whole number below a thousand million: "one thousand five hundred", "three hundred and fifty".
pub fn cardinal(n: u64) -> String {
    let word = |list: &[&str], at: u64| list.get(at as usize).copied().unwrap_or_default().to_owned();
    let split = |size: u64, name: &str, and: bool| {
        let (head, rest) = (cardinal(n / size), n % size);
        match rest {
            0 => format!("{head} {name}"),
            _ if and || rest < 100 => format!("{head} {name} and {}", cardinal(rest)),
            _ => format!("{head} {name} {}", cardinal(rest)),
        }
    };
    match n {
        0..20 => word(&SMALL, n),
        20..100 if n.is_multiple_of(10) => word(&TENS, n / 10),
        20..100 => format!("{} {}", word(&TENS, n / 10), word(&SMALL, n % 10)),
        100..1_000 => split(100, "hundred", true),
        1_000..1_000_000 => split(1_000, "thousand", false),
        _ => split(1_000_000, "million", false),
    }
}

/// "first", "twenty second", "thirtieth".
pub fn ordinal(n: u64) -> String {
    let words = cardinal(n);
    match ORDINALS.iter().find(|(ending, _)| words.ends_with(ending)) {
        Some((ending, ordinal)) => format!("{}{ordinal}", words.trim_end_matches(ending)),
        None => words + "th",
    }
}

/// Digits one by one.
pub fn digits(text: &str) -> String {
    let words = text.chars().filter_map(|c| Some(cardinal(u64::from(c.to_digit(10)?))));
    words.collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_words() {
        for (n, words) in [
            (0, "zero"),
            (15, "fifteen"),
            (40, "forty"),
            (52, "fifty two"),
            (100, "one hundred"),
            (101, "one hundred and one"),
            (350, "three hundred and fifty"),
            (1_500, "one thousand five hundred"),
            (2_026, "two thousand and twenty six"),
            (3_000_000, "three million"),
        ] {
            assert_eq!(cardinal(n), words);
        }
        let ordinals =
            [(1, "first"), (2, "second"), (5, "fifth"), (12, "twelfth"), (20, "twentieth"), (21, "twenty first")];
        for (n, words) in ordinals.into_iter().chain([(4, "fourth"), (90, "ninetieth"), (100, "one hundredth")]) {
            assert_eq!(ordinal(n), words);
        }
        assert_eq!(digits("07"), "zero seven");
    }
}
