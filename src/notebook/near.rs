//! Names that are likely slips of the pen for one that is known.

/// Up to so many letters two names are near where one letter is another, missing, too many, or has changed places with the next;
/// beyond it where two are. Our choice: `Ida` and `Idda`, `Katarina` and `Catharina`.
const SHORT: usize = 6;
/// A name of fewer letters is too short to tell a slip.
const SHORTEST: usize = 3;

/// The known name that `name` may be meant for: one or two letters off, or the same first name with more or less behind it.
pub fn near<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let name = name.trim().to_lowercase();
    let first = name.split_whitespace().next();
    let off = |other: &str| {
        let other = other.to_lowercase();
        let letters = name.chars().count().max(other.chars().count());
        let off = strsim::osa_distance(&name, &other);
        let one_is_longer = name.contains(char::is_whitespace) != other.contains(char::is_whitespace);
        let same_first = one_is_longer && other.split_whitespace().next() == first;
        let near = letters >= SHORTEST && off <= if letters > SHORT { 2 } else { 1 };
        (near || same_first).then_some(off)
    };
    let found = known.into_iter().filter_map(|other| Some((off(other)?, other)));
    found.min_by_key(|(off, _)| *off).map(|(_, other)| other)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_are_near_and_other_names_are_not() {
        let known = ["Bo", "Ida", "Katarina", "Éva Lund"];
        for (name, meant) in [
            ("Idda", Some("Ida")),
            ("iad", Some("Ida")),
            ("IDAA", Some("Ida")),
            ("Catarina", Some("Katarina")),
            ("Catharina", Some("Katarina")),
            ("éva", Some("Éva Lund")),
            ("Ida Berg", Some("Ida")),
            ("Eva Lund", Some("Éva Lund")),
            ("Bob", Some("Bo")),
            ("Jo", None),
            ("Cy", None),
            ("Mara", None),
            ("", None),
        ] {
            assert_eq!(near(name, known), meant, "{name}");
        }
    }
}
