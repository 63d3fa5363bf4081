//! A number as one whole frame, in every form that a reader sends.

/// The forms that do not come as lines, by the product's names.
const OTHERS: [&str; 4] = ["stx-etx-wl30", "stx-etx-hex14", "wedge-15", "idle-15"];
/// The forms that come as lines; each also with `-cr` or `-lf` behind its name.
const LINES: [&str; 9] = [
    "line-15",
    "line-hex-dotted",
    "line-hex16",
    "line-a-7-15",
    "line-1-6-15",
    "line-hex16-left",
    "line-hex16-right",
    "line-legacy-9",
    "line-legacy-10",
];

/// The names of all forms, the same as the product's built-in profiles. Lines
/// end with CR LF, or with CR or LF alone where the name ends with `-cr`, `-lf`.
pub fn forms() -> Vec<String> {
    let lines = ["", "-cr", "-lf"]
        .iter()
        .flat_map(|end| LINES.iter().map(move |line| format!("{line}{end}")));
    OTHERS.map(str::to_owned).into_iter().chain(lines).collect()
}

/// A line form's name without its end, and the bytes of that end.
fn line_end(form: &str) -> (&str, &'static str) {
    if let Some(line) = form.strip_suffix("-cr") {
        (line, "\r")
    } else if let Some(line) = form.strip_suffix("-lf") {
        (line, "\n")
    } else {
        (form, "\r\n")
    }
}

/// The form of an emulated reader that was not told otherwise: its frames hold
/// bytes that a reader of lines would trip over.
pub const DEFAULT_FORM: &str = "stx-etx-wl30";

/// Country and national code of a 15-digit number.
///
/// # Errors
/// A sentence that says what is wrong with the text.
pub fn split(number: &str) -> Result<(u64, u64), String> {
    if number.len() != 15 || !number.bytes().all(|b| b.is_ascii_digit()) {
        return Err(format!("{number:?} is not 15 digits"));
    }
    let (country, national) = number.split_at(3);
    let national: u64 = national.parse().map_err(|_| "not a number".to_owned())?;
    if national >> 38 != 0 {
        return Err(format!("{number}: no chip holds more than 274877906943"));
    }
    Ok((country.parse().map_err(|_| "not a number")?, national))
}

/// The 64 bits of a chip in an animal with this number.
///
/// # Errors
/// As [`split`].
pub fn word(number: &str) -> Result<u64, String> {
    let (country, national) = split(number)?;
    Ok((1 << 63) | (country << 38) | national)
}

fn turned(text: &str) -> String {
    text.chars().rev().collect()
}

/// The 30-byte frame: STX, national code and country in hex with the lowest
/// digit first, data and animal digit, reserved digits, XOR of all those 26
/// characters, its complement, ETX. (Layout as in facts: ESPHome wl_134.cpp.)
///
/// # Errors
/// As [`split`].
pub fn frame30(number: &str) -> Result<Vec<u8>, String> {
    let (country, national) = split(number)?;
    let text = format!(
        "{}{}01{}",
        turned(&format!("{national:010X}")),
        turned(&format!("{country:04X}")),
        "0".repeat(10)
    );
    let mut frame = vec![0x02];
    frame.extend(text.bytes());
    let xor = text.bytes().fold(0, |x, b| x ^ b);
    frame.extend([xor, xor ^ 0xFF, 0x03]);
    Ok(frame)
}

/// One whole frame, terminator included.
///
/// # Errors
/// A sentence for an unknown form or a number that does not fit it.
pub fn encode(form: &str, number: &str) -> Result<Vec<u8>, String> {
    let (kind, end) = line_end(form);
    let line = |text: String| Ok(format!("{text}{end}").into_bytes());
    match kind {
        "stx-etx-wl30" => frame30(number),
        "line-15" => line(split(number).map(|_| number.to_owned())?),
        "wedge-15" => Ok(format!("{}\r", split(number).map(|_| number)?).into_bytes()),
        "idle-15" => Ok(split(number).map(|_| number.as_bytes().to_vec())?),
        "line-hex-dotted" => {
            let (country, national) = split(number)?;
            line(format!("{country:03X}.{national:010X}"))
        }
        "line-hex16" | "line-hex16-left" => line(format!("{:016X}", word(number)?)),
        "line-hex16-right" => line(format!("{:016X}", word(number)?.reverse_bits())),
        "line-a-7-15" => line(format!("A0000000{}", split(number).map(|_| number)?)),
        "line-1-6-15" => line(format!("1000000{}", split(number).map(|_| number)?)),
        "stx-etx-hex14" => {
            let (country, national) = split(number)?;
            Ok(format!("\x02{country:04X}{national:010X}\r\n\x03").into_bytes())
        }
        "line-legacy-9" => older(number, 9).and_then(line),
        "line-legacy-10" => older(number, 10).and_then(line),
        _ => Err(format!(
            "no form {form:?}; there are {}",
            forms().join(", ")
        )),
    }
}

fn older(number: &str, length: usize) -> Result<String, String> {
    if number.len() == length && number.bytes().all(|b| b.is_ascii_alphanumeric()) {
        Ok(number.to_owned())
    } else {
        Err(format!("{number:?} is not {length} letters and digits"))
    }
}
