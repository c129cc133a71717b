//! Seconds in a record: decimal text, exact to the nanosecond. Records of version 1 have whole nanoseconds instead.

use crate::units::time::{Decimal, NANOS, Seconds};
use serde::{Deserializer, Serializer, de};
use std::fmt;

/// Writes seconds without needless zeros: `58.4`.
pub fn serialize<S: Serializer>(time: &Seconds, to: S) -> Result<S::Ok, S::Error> {
    to.serialize_str(Decimal(*time).to_string().trim_end_matches('0').trim_end_matches('.'))
}

/// Reads them, or whole nanoseconds.
pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Seconds, D::Error> {
    from.deserialize_any(Reader)
}

struct Reader;

impl de::Visitor<'_> for Reader {
    type Value = Seconds;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("seconds as decimal text, such as \"58.4\"")
    }

    fn visit_i64<E: de::Error>(self, nanos: i64) -> Result<Seconds, E> {
        Ok(Seconds::from_nanos(nanos))
    }

    fn visit_u64<E: de::Error>(self, nanos: u64) -> Result<Seconds, E> {
        i64::try_from(nanos).map(Seconds::from_nanos).map_err(|_| E::custom("more than 290 years"))
    }

    fn visit_str<E: de::Error>(self, text: &str) -> Result<Seconds, E> {
        parse(text).ok_or_else(|| E::invalid_value(de::Unexpected::Str(text), &self))
    }
}

fn parse(text: &str) -> Option<Seconds> {
    let (sign, digits) = text.strip_prefix('-').map_or((1, text), |digits| (-1, digits));
    let (whole, fraction) = digits.split_once('.').unwrap_or((digits, "0"));
    let all_digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    if !all_digits(whole) || !all_digits(fraction) || fraction.len() > 9 {
        return None;
    }
    let whole: i64 = whole.parse().ok()?;
    let fraction: i64 = format!("{fraction:0<9}").parse().ok()?;
    Some(Seconds::from_nanos(sign * whole.checked_mul(NANOS)?.checked_add(fraction)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Debug, PartialEq, serde::Serialize, serde::Deserialize)]
    struct Timed(#[serde(with = "super")] Seconds);

    #[test]
    fn seconds_are_exact_both_ways() {
        for (nanos, text) in [(0, "\"0\""), (58_400_000_000, "\"58.4\""), (-41_000_001, "\"-0.041000001\"")] {
            let timed = Timed(Seconds::from_nanos(nanos));
            assert_eq!(serde_json::to_string(&timed).unwrap(), text);
            assert_eq!(serde_json::from_str::<Timed>(text).unwrap(), timed);
            // As version 1 has it.
            assert_eq!(serde_json::from_str::<Timed>(&nanos.to_string()).unwrap(), timed);
        }
        for wrong in ["\"\"", "\"1e3\"", "\"1.\"", "\".5\"", "\"1:02\"", "\"1.0000000001\"", "\"99999999999\"", "null"]
        {
            let read = serde_json::from_str::<Timed>(wrong);
            assert!(
                read.as_ref().is_err_and(|error| error.to_string().contains("58.4") || wrong == "null"),
                "{wrong}: {read:?}"
            );
        }
    }
}
