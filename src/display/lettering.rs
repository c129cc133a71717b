//! Text broken into lines for large letters. Where the lines stand is the layout's job.

use super::big::Big;

/// Words, each of them whole, on the fewest lines of letters of so many rows that are no wider than the room; none where it
/// takes more than `most` lines, or has no large letters.
pub(super) fn lettered(words: &[String], width: u16, rows: u16, most: usize) -> Option<Vec<String>> {
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let fits = |line: &String| Big::width_of(line, rows).is_some_and(|wide| wide <= width);
    (1..=most).map(|count| broken(&words, count)).find(|lines| !lines.is_empty() && lines.iter().all(fits))
}

/// Words, or what else must not be parted, on at most so many lines, none of them longer than it must be.
pub(super) fn broken(words: &[&str], count: usize) -> Vec<String> {
    let longest = |lines: &[String]| lines.iter().map(|line| line.chars().count()).max().unwrap_or(0);
    let whole = words.join(" ").chars().count();
    // The narrowest width at which filling line after line takes no more lines than there may be.
    let lines = (1..=whole).map(|width| {
        let mut lines: Vec<String> = Vec::new();
        for word in words {
            match lines.last_mut() {
                Some(line) if line.chars().count() + 1 + word.chars().count() <= width => {
                    line.push(' ');
                    line.push_str(word);
                }
                _ => lines.push((*word).to_owned()),
            }
        }
        lines
    });
    lines.filter(|lines| lines.len() <= count).min_by_key(|lines| longest(lines)).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_belongs_together_stays_on_one_line() {
        let words = ["round", "2 of 3", "repeat", "5 of 6"].map(str::to_owned);
        assert_eq!(lettered(&words, 78, 3, 2), Some(vec!["round 2 of 3".to_owned(), "repeat 5 of 6".to_owned()]));
        assert_eq!(lettered(&words, 138, 3, 2), Some(vec!["round 2 of 3 repeat 5 of 6".to_owned()]));
        assert_eq!(lettered(&words, 20, 3, 2), None);
        assert_eq!(lettered(&["ß".to_owned()], 78, 3, 2), None);
        assert_eq!(lettered(&[], 78, 3, 2), None);
    }
}
