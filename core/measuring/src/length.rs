//! Lengths, exact in nanometres, so that both a millimetre and a sixteenth of an inch are whole numbers.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Deserializer, Serialize, Serializer, de};

/// Nanometres in a millimetre.
const NM_PER_MM: i64 = 1_000_000;
/// Nanometres in an inch: 25.4 mm exactly (the international inch).
const NM_PER_INCH: i64 = 25_400_000;
/// The longest length read from text, 10 m: no dog or pony is taller, and sums of lengths can't overflow.
const LONGEST_NM: i64 = 10_000 * NM_PER_MM;

/// A length in whole nanometres. A sixteenth of an inch is 1 587 500 nm, so inches are exact too.
///
/// Written and read as text with its unit (`"350 mm"`, `"35 cm"`, `"13 7/8 in"`); a bare whole
/// number is millimetres.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Length(i64);

/// Why a text is not a length, with what to write instead.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LengthError {
    /// The text as it stood.
    pub text: String,
    /// What is wrong with it.
    pub reason: &'static str,
}

impl fmt::Display for LengthError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "'{}' is not a length: {}; write for example \"350 mm\", \"35 cm\" or \"13 7/8 in\"",
            self.text, self.reason
        )
    }
}

impl std::error::Error for LengthError {}

impl Length {
    /// No length at all.
    pub const ZERO: Length = Length(0);

    /// Whole nanometres.
    pub const fn from_nm(nm: i64) -> Self {
        Length(nm)
    }

    /// Whole micrometres.
    pub const fn from_micrometres(um: i64) -> Self {
        Length(um * 1_000)
    }

    /// Whole millimetres.
    pub const fn from_mm(mm: i64) -> Self {
        Length(mm * NM_PER_MM)
    }

    /// Whole millimetres as a file may give them: 0 to 10 m.
    pub(crate) fn from_whole_mm(mm: i64) -> Option<Self> {
        (0..=10_000).contains(&mm).then(|| Self::from_mm(mm))
    }

    /// Whole sixteenths of an inch (1 in = 25.4 mm exactly).
    pub const fn from_sixteenths(sixteenths: i64) -> Self {
        Length(sixteenths * (NM_PER_INCH / 16))
    }

    /// Whole inches (1 in = 25.4 mm exactly).
    pub const fn from_inches(inches: i64) -> Self {
        Length(inches * NM_PER_INCH)
    }

    /// Nanometres.
    pub const fn nm(self) -> i64 {
        self.0
    }

    /// Whole micrometres, rounded towards zero: what the other crates store.
    pub const fn micrometres(self) -> i64 {
        self.0 / 1_000
    }

    /// The sum, held at the ends of the number range rather than wrapping round.
    pub const fn plus(self, other: Length) -> Length {
        Length(self.0.saturating_add(other.0))
    }

    /// The difference, held at the ends of the number range rather than wrapping round.
    pub const fn minus(self, other: Length) -> Length {
        Length(self.0.saturating_sub(other.0))
    }

    /// How far two lengths lie apart, never negative.
    pub const fn apart(self, other: Length) -> Length {
        let d = self.0.saturating_sub(other.0);
        Length(if d < 0 { d.saturating_neg() } else { d })
    }

    /// In millimetres without the unit, as few decimals as are exact: `350`, `352.425`.
    pub fn in_mm(self) -> String {
        decimal(self.0, NM_PER_MM, 6)
    }

    /// In centimetres without the unit, as few decimals as are exact: `35`, `35.2425`.
    pub fn in_cm(self) -> String {
        decimal(self.0, NM_PER_MM * 10, 7)
    }
}

/// `value / unit` in decimal, trailing zeros left out; `digits` is how many zeros `unit` has.
fn decimal(value: i64, unit: i64, digits: usize) -> String {
    let sign = if value < 0 { "-" } else { "" };
    let value = value.unsigned_abs();
    let unit = unit.unsigned_abs();
    let (whole, rest) = (value / unit, value % unit);
    if rest == 0 {
        return format!("{sign}{whole}");
    }
    let rest = format!("{rest:0digits$}");
    format!("{sign}{whole}.{}", rest.trim_end_matches('0'))
}

impl fmt::Display for Length {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} mm", self.in_mm())
    }
}

impl FromStr for Length {
    type Err = LengthError;

    fn from_str(text: &str) -> Result<Self, LengthError> {
        let wrong = |reason| LengthError {
            text: text.chars().take(40).collect(),
            reason,
        };
        let trimmed = text.trim();
        let units = [
            ("mm", NM_PER_MM),
            ("cm", NM_PER_MM * 10),
            ("in", NM_PER_INCH),
        ];
        let (number, unit) = units
            .iter()
            .find_map(|(name, nm)| Some((trimmed.strip_suffix(name)?.trim(), *nm)))
            .ok_or_else(|| wrong("it has no unit of mm, cm or in"))?;
        let nm = exact(number, unit).map_err(wrong)?;
        if nm > i128::from(LONGEST_NM) {
            return Err(wrong("it is more than 10 m"));
        }
        // Held below 10 m just above, so it fits.
        Ok(Length(i64::try_from(nm).unwrap_or(LONGEST_NM)))
    }
}

/// The whole nanometres in `number` times `unit`; `number` is `35`, `35.5`, `7/8` or `13 7/8`.
fn exact(number: &str, unit: i64) -> Result<i128, &'static str> {
    if number.contains(',') {
        return Err("its decimals stand behind a comma: write a point");
    }
    if number.find(['-', '–']).is_some_and(|at| at > 0) {
        return Err("it is a range: write one length");
    }
    let unit = i128::from(unit);
    let mut parts = number.split_whitespace();
    let first = parts.next().ok_or("the number is missing")?;
    let second = parts.next();
    if parts.next().is_some() {
        return Err("there are too many numbers");
    }
    match (first.contains('/'), second) {
        (true, None) => fraction(first, unit),
        (false, None) => decimal_number(first, unit),
        (false, Some(rest)) if rest.contains('/') => {
            Ok(i128::from(digits(first)?) * unit + fraction(rest, unit)?)
        }
        _ => Err("the number can't be read"),
    }
}

fn fraction(text: &str, unit: i128) -> Result<i128, &'static str> {
    let (top, bottom) = text.split_once('/').ok_or("the fraction can't be read")?;
    let (top, bottom) = (i128::from(digits(top)?), i128::from(digits(bottom)?));
    if bottom == 0 {
        return Err("a fraction can't be over nought");
    }
    if (top * unit) % bottom != 0 {
        return Err("it is not a whole number of nanometres");
    }
    Ok(top * unit / bottom)
}

fn decimal_number(text: &str, unit: i128) -> Result<i128, &'static str> {
    let (whole, rest) = text.split_once('.').unwrap_or((text, ""));
    if text.contains('.') && rest.is_empty() {
        return Err("there is nothing behind the point");
    }
    let mut nm = i128::from(digits(whole)?) * unit;
    let mut step = unit;
    for digit in rest.chars() {
        let digit = digit.to_digit(10).ok_or("the number can't be read")?;
        if digit != 0 && (step == 0 || step % 10 != 0) {
            return Err("it is finer than a nanometre");
        }
        step /= 10;
        nm += i128::from(digit) * step;
    }
    Ok(nm)
}

/// At most seven digits: ample below 10 m, and no sum can overflow.
fn digits(text: &str) -> Result<u32, &'static str> {
    if text.is_empty() || text.len() > 7 || !text.bytes().all(|b| b.is_ascii_digit()) {
        return Err("the number can't be read (at most seven digits, no sign)");
    }
    text.parse().map_err(|_| "the number can't be read")
}

impl Serialize for Length {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Length {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        struct Visitor;
        impl de::Visitor<'_> for Visitor {
            type Value = Length;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a length such as \"350 mm\", \"35 cm\", \"13 7/8 in\", or whole millimetres from 0 to 10000")
            }

            fn visit_i64<E: de::Error>(self, mm: i64) -> Result<Length, E> {
                Length::from_whole_mm(mm)
                    .ok_or_else(|| E::invalid_value(de::Unexpected::Signed(mm), &self))
            }

            fn visit_u64<E: de::Error>(self, mm: u64) -> Result<Length, E> {
                self.visit_i64(i64::try_from(mm).unwrap_or(i64::MAX))
            }

            fn visit_str<E: de::Error>(self, text: &str) -> Result<Length, E> {
                text.parse().map_err(E::custom)
            }
        }
        d.deserialize_any(Visitor)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn inches_are_exact() {
        assert_eq!(Length::from_inches(1).in_mm(), "25.4");
        assert_eq!("13 7/8 in".parse(), Ok(Length::from_sixteenths(222)));
        assert_eq!("24.5 in".parse(), Ok(Length::from_sixteenths(392)));
        assert_eq!("1/16 in".parse::<Length>().unwrap().nm(), 1_587_500);
        assert_eq!(Length::from_sixteenths(1).to_string(), "1.5875 mm");
    }

    #[test]
    fn shown_in_the_unit_asked_for() {
        let l: Length = "35 cm".parse().unwrap();
        assert_eq!(
            (l.to_string(), l.in_cm()),
            ("350 mm".into(), "35".to_owned())
        );
        assert_eq!("352.5 mm".parse::<Length>().unwrap().in_cm(), "35.25");
        assert_eq!(Length::from_nm(-1_500_000).in_mm(), "-1.5");
        assert_eq!(Length::from_micrometres(350_400).micrometres(), 350_400);
    }

    #[test]
    fn what_is_not_a_length_says_why() {
        for (text, part) in [
            ("35", "unit"),
            ("mm", "missing"),
            ("3 4 5 mm", "too many"),
            ("-3 mm", "can't be read"),
            ("3. mm", "behind the point"),
            ("1/0 in", "nought"),
            ("1/7 mm", "nanometres"),
            ("0.00000001 mm", "finer"),
            ("1001 cm", "10 m"),
            ("12345678 mm", "seven"),
            ("3 5 mm", "the number can't be read"),
            ("0.1234567 mm", "finer"),
            ("35,5 cm", "write a point"),
            ("35-43 cm", "write one length"),
            ("35 – 43 cm", "write one length"),
        ] {
            let error = text.parse::<Length>().expect_err(text).to_string();
            assert!(error.contains(part), "{text}: {error}");
            assert!(error.contains("write for example"), "{error}");
        }
    }

    #[test]
    fn longest_is_ten_metres() {
        assert_eq!("0000350 mm".parse(), Ok(Length::from_mm(350)));
        assert_eq!("0.1234560 mm".parse(), Ok(Length::from_nm(123_456)));
        assert_eq!("10000 mm".parse(), Ok(Length::from_mm(10_000)));
        assert!("10000.1 mm".parse::<Length>().is_err());
    }

    #[test]
    fn written_and_read_again() {
        for l in [
            Length::from_mm(350),
            Length::from_sixteenths(7),
            Length::from_nm(1),
        ] {
            let text = serde_json::to_string(&l).unwrap();
            assert_eq!(serde_json::from_str::<Length>(&text).unwrap(), l);
        }
        assert_eq!(
            serde_json::from_str::<Length>("350").unwrap(),
            Length::from_mm(350)
        );
        assert!(serde_json::from_str::<Length>("10001").is_err());
        assert!(serde_json::from_str::<Length>("-1").is_err());
        assert!(serde_json::from_str::<Length>("18446744073709551615").is_err());
    }

    #[test]
    fn sums_and_gaps() {
        let (a, b) = (Length::from_mm(3), Length::from_mm(5));
        assert_eq!(
            (a.plus(b), b.minus(a), a.apart(b), b.apart(a)),
            (
                Length::from_mm(8),
                Length::from_mm(2),
                Length::from_mm(2),
                Length::from_mm(2)
            )
        );
        assert_eq!(Length::from_nm(i64::MAX).plus(a), Length::from_nm(i64::MAX));
    }
}
