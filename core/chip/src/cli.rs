//! What `cargo xtask chip read` prints: the answer to one capture of bytes.
//!
//! `form` is `auto`, the name of a built-in profile (`line-15`: the bytes are a
//! piece of the reader's stream, terminators and noise included) or the name of
//! a bare form (`decimal-15`: the bytes are the content of one frame and nothing
//! else). The table of names is in `docs/forms.md`.

use crate::form::{Form, Parsed};
use crate::framer::Framer;
use crate::number::ChipNumber;
use crate::profile::{Framing, Profile};
use crate::read::{Checksum, Frame};
use crate::refusal::Refusal;
use serde::{Deserialize, Serialize};

/// The printed answer.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Answer {
    /// Whether exactly one number was understood.
    pub accepted: bool,
    /// The number, 15 digits or an older number's text.
    pub number: Option<ChipNumber>,
    /// The form it was in, or was to be in.
    pub form: Option<String>,
    /// `verified` or `absent`; null where nothing was accepted.
    pub checksum: Option<Checksum>,
    /// The animal bit, where the form carries it.
    pub animal: Option<bool>,
    /// What to point out.
    pub flags: Vec<String>,
    /// Why nothing was accepted, and what to do.
    pub reason: Option<String>,
}

/// One number understood, and by which name of a form.
struct Hit {
    name: String,
    parsed: Parsed,
    /// Whether every byte belongs to a frame with this number.
    nothing_else: bool,
}

/// Reads one capture. Returns the JSON text and whether a number was accepted.
///
/// `hex` is the bytes in hexadecimal, white space between them allowed.
pub fn chip_read(form: &str, hex: &str) -> (String, bool) {
    let answer = read(form, hex);
    let json = serde_json::to_string(&answer).unwrap_or_else(|e| format!("{{\"error\":\"{e}\"}}"));
    (json, answer.accepted)
}

fn read(form: &str, hex: &str) -> Answer {
    let named = (form != "auto").then(|| form.to_owned());
    let refuse = |reason: String| Answer {
        accepted: false,
        number: None,
        form: named.clone(),
        checksum: None,
        animal: None,
        flags: Vec::new(),
        reason: Some(reason),
    };
    let bare: String = hex.chars().filter(|c| !c.is_whitespace()).collect();
    let bytes = match hex::decode(&bare) {
        Ok(bytes) if !bytes.is_empty() => bytes,
        Ok(_) => return refuse("no bytes: give the reader's bytes in hexadecimal".to_owned()),
        Err(e) => {
            return refuse(format!(
                "the bytes are not hexadecimal ({e}): give two hex digits for each byte"
            ));
        }
    };
    let found = if form == "auto" {
        auto(&bytes)
    } else if let Some(profile) = Profile::builtin(form) {
        by_profile(profile, &bytes)
    } else if let Some(form) = Form::by_name(form) {
        by_form(form, &bytes)
    } else {
        return refuse(format!(
            "there is no form {form:?}; there are auto, {}",
            names().join(", ")
        ));
    };
    match found {
        Err(reason) => refuse(reason.to_string()),
        Ok(hit) => Answer {
            accepted: true,
            number: Some(hit.parsed.number),
            form: Some(hit.name),
            checksum: Some(hit.parsed.checksum),
            animal: hit.parsed.animal,
            flags: hit.parsed.flags.iter().map(|f| f.name().into()).collect(),
            reason: None,
        },
    }
}

/// Every name that `--form` takes, `auto` aside.
pub fn names() -> Vec<String> {
    let profiles = Profile::all().into_iter().map(|p| p.name);
    let forms = Form::ALL.into_iter().map(|f| f.name().to_owned());
    profiles.chain(forms).collect()
}

/// The bytes as a piece of a reader's stream, followed by silence.
fn by_profile(profile: Profile, bytes: &[u8]) -> Result<Hit, Refusal> {
    let name = profile.name.clone();
    let silence = match profile.framing {
        Framing::IdleGap { gap_ms } => i64::from(gap_ms),
        _ => 0,
    };
    let mut framer = Framer::new(profile);
    let mut frames = framer.feed(bytes, 0);
    frames.extend(framer.tick(silence));
    frames.extend(framer.link_lost().map(Frame::Refused));
    let mut found: Option<Parsed> = None;
    let mut fault = Refusal::NoForm;
    let mut nothing_else = framer.noise() == 0;
    for frame in frames {
        match frame {
            Frame::Refused(refused) => {
                nothing_else = false;
                fault = refused.reason;
            }
            Frame::Read(r) => {
                let parsed = Parsed {
                    number: r.number,
                    checksum: r.checksum,
                    animal: r.animal,
                    code: r.code,
                    flags: r.flags,
                };
                if found.as_ref().is_some_and(|f| f.number != parsed.number) {
                    return Err(Refusal::TwoNumbers);
                }
                found.get_or_insert(parsed);
            }
        }
    }
    match found {
        Some(parsed) => Ok(Hit {
            name,
            parsed,
            nothing_else,
        }),
        None => Err(fault),
    }
}

/// The bytes as the content of one frame. A telegram may also be written as a
/// text of 0 and 1.
fn by_form(form: Form, bytes: &[u8]) -> Result<Hit, Refusal> {
    let name = form.name().to_owned();
    let parsed = match (form, air_bits(bytes)) {
        (Form::FdxB, Some(bits)) => crate::telegram::FdxB::from_air_bits(&bits)?.parsed()?,
        (Form::Hdx, Some(bits)) => crate::telegram::Hdx::from_air_bits(&bits)?.parsed()?,
        _ => form.parse(bytes)?,
    };
    Ok(Hit {
        name,
        parsed,
        nothing_else: true,
    })
}

fn air_bits(bytes: &[u8]) -> Option<Vec<bool>> {
    let digits = bytes.trim_ascii();
    // Shorter texts of 0 and 1 may be numbers.
    (digits.len() > 100 && digits.iter().all(|b| matches!(b, b'0' | b'1')))
        .then(|| digits.iter().map(|b| *b == b'1').collect())
}

/// Tries every form. Not taken, because nothing in the bytes vouches for them:
/// forms whose bit order only a person can declare, and older numbers, which
/// look like what is left of a longer number that was cut. So would 14 bare hex
/// digits, which are only taken between STX and ETX.
fn auto(bytes: &[u8]) -> Result<Hit, Refusal> {
    let undeclared = |f: Form| {
        !matches!(
            f,
            Form::Hex16Left | Form::Hex16Right | Form::Legacy9 | Form::Legacy10
        )
    };
    let content = bytes.trim_ascii();
    if Form::Hex16.parse_undeclared(content) == Err(Refusal::HexOrIndustrial) {
        return Err(Refusal::HexOrIndustrial);
    }
    if Form::Legacy9.parse(content).is_ok()
        || (Form::Legacy10.parse(content).is_ok() && Form::IdCrc.parse(bytes).is_err())
    {
        return Err(Refusal::OlderOrCut);
    }
    // Fifteen digits without a terminator may be the beginning of the longer
    // form that starts with 1 and six digits, mostly zeros.
    if bytes.len() == 15 && bytes.starts_with(b"1000000") {
        return Err(Refusal::FormUnclear);
    }
    // A capture has no silence in it, and bare digits are a form of their own.
    let profiles = Profile::all()
        .into_iter()
        .filter(|p| undeclared(p.form) && !matches!(p.framing, Framing::IdleGap { .. }))
        .map(|p| by_profile(p, bytes));
    let forms = Form::ALL
        .into_iter()
        .filter(|f| undeclared(*f) && *f != Form::Hex4x10)
        .map(|f| match f.parse_undeclared(bytes) {
            Err(reason) if f.is_text() => Err(reason),
            _ => by_form(f, bytes),
        });
    let mut hits: Vec<Hit> = Vec::new();
    let mut faults: Vec<Refusal> = Vec::new();
    for tried in profiles.chain(forms) {
        match tried {
            // Beside a number without a check there must be nothing else: it
            // could be part of a longer frame in another form.
            Ok(hit) if hit.parsed.checksum == Checksum::Absent && !hit.nothing_else => {
                faults.push(Refusal::NotAlone);
            }
            Ok(hit) => hits.push(hit),
            Err(reason) => faults.push(reason),
        }
    }
    if faults.contains(&Refusal::TwoNumbers) {
        return Err(Refusal::TwoNumbers);
    }
    let Some(first) = hits.first() else {
        return Err(telling(faults));
    };
    let number = first.parsed.number.clone();
    if hits.iter().any(|h| h.parsed.number != number) {
        return Err(Refusal::FormUnclear);
    }
    // One that a check vouches for is preferred, then the order of the lists.
    hits.into_iter()
        .min_by_key(|h| h.parsed.checksum == Checksum::Absent)
        .ok_or(Refusal::NoForm)
}

/// Of the reasons that all the forms gave, the one that says most.
fn telling(faults: Vec<Refusal>) -> Refusal {
    let weight = |r: &Refusal| match r {
        Refusal::Industrial | Refusal::KeyboardLayout => 0,
        Refusal::NotAlone | Refusal::BitOrderUnclear | Refusal::FormUnclear => 1,
        Refusal::CountryZero | Refusal::CountryTooLarge { .. } | Refusal::NationalTooLarge => 2,
        Refusal::WrongLength { .. } => 3,
        Refusal::CheckFailed => 4,
        _ => 5,
    };
    let best = faults.into_iter().min_by_key(|r| weight(r));
    match best {
        // Any ten bytes are tried as a number with its CRC, and so on: a fault
        // which so many bytes would give says nothing.
        Some(reason) if weight(&reason) < 5 => reason,
        _ => Refusal::NoForm,
    }
}
