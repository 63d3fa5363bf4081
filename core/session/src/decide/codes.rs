//! Codes that go from phone to phone: what is read says itself what it is, by how it begins.
//! A text that is too long for one code comes in pieces, in any order.

use standsquare_journal::record::CodeFault;
use standsquare_journal::record::dogs::Dogs;
use standsquare_journal::record::elsewhere;
use standsquare_journal::record::kept::Receipt;
use standsquare_journal::record::pair::Pairing;
use standsquare_journal::record::pieces::{self, Gathering, PieceFault};

use super::{Context, Outcome, copies, elsewhere as other, heard, not_now, pair};
use crate::looking::Looking;
use crate::view::{Cue, Effect, Text, Tone};

/// Whether a text is one that another phone shows.
pub(super) fn is_one(text: &str) -> bool {
    pieces::is_piece(text)
        || Dogs::is_one(text)
        || Pairing::is_one(text)
        || elsewhere::is_one(text)
        || Receipt::is_one(text)
}

/// A code of another phone was read.
pub(super) fn read(c: &mut Context, text: &str) -> Outcome {
    if pieces::is_piece(text) {
        return piece(c, text);
    }
    whole(c, text)
}

fn whole(c: &mut Context, text: &str) -> Outcome {
    if Dogs::is_one(text) {
        return heard::take(c, text);
    }
    if Pairing::is_one(text) {
        return pair::take(c, text);
    }
    if elsewhere::is_ask(text) {
        return other::asked(c, text);
    }
    if Receipt::is_one(text) {
        return copies::received(c, text);
    }
    if elsewhere::is_answer(text) {
        return other::answered(c, text);
    }
    Outcome::refuse(Text::of("refused.code_unknown"))
}

fn piece(c: &mut Context, text: &str) -> Outcome {
    let before = c.gathering.progress();
    let taken = match c.gathering.take(text) {
        // Somebody holds the phone to another code now: that one is gathered from here on.
        Err(PieceFault::OtherWhole) => {
            *c.gathering = Gathering::default();
            c.gathering.take(text)
        }
        taken => taken,
    };
    match taken {
        Ok(Some(bytes)) => {
            *c.gathering = Gathering::default();
            match pieces::text_of(&bytes) {
                // A piece in pieces would be read for ever.
                Some(text) if !pieces::is_piece(&text) => whole(c, &text),
                None => copies::take(c, &bytes),
                _ => Outcome::refuse(Text::of("refused.code_unknown")),
            }
        }
        Ok(None) => {
            let (have, all) = c.gathering.progress().unwrap_or_default();
            let missing: Vec<String> = c
                .gathering
                .missing()
                .take(9)
                .map(|n| n.to_string())
                .collect();
            let text = Text::of("notice.code_piece")
                .plain("have", have.to_string())
                .plain("all", all.to_string())
                .plain("missing", missing.join(", "));
            let out = Outcome::default().say(Tone::Care, text);
            // A camera sees the same ones again and again: only a new one is heard.
            match before == Some((have, all)) {
                true => out,
                false => out.play(Cue::Done),
            }
        }
        Err(PieceFault::NotWhole) => Outcome::refuse(Text::of("refused.code_pieces")),
        Err(_) => Outcome::refuse(Text::of("refused.code_damaged")),
    }
}

/// Why a code that another phone signed is not taken.
pub(super) fn refused(fault: &CodeFault) -> Outcome {
    Outcome::refuse(Text::of(match fault {
        CodeFault::UnknownKey => "refused.phone_unknown",
        CodeFault::TooNew => "refused.code_too_new",
        CodeFault::Forged => "refused.code_forged",
        _ => "refused.code_damaged",
    }))
}

/// What the codes on the glass say, as one text to be carried in another way.
pub(super) fn share(c: &Context) -> Outcome {
    let Some(Looking::Codes(shown)) = c.looking.last() else {
        return not_now();
    };
    let (name, bytes) = shown.file.clone();
    let mut out = Outcome::default();
    out.effects.push(Effect::Share {
        name,
        media_type: "text/plain".into(),
        bytes,
    });
    out
}
