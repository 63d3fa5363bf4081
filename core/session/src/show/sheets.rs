//! Sheets to print: the handler's slip and the return. What is on them is data; the platform
//! lays it out in its language.

use super::{Text, grouped, look, measure_text, outcome_text, row_notes, signing};
use crate::judging;
use crate::looking::GivenSlip;
use crate::state::{Session, Visit};
use crate::view::{Sheet, SheetBlock};

use signing::{line, shown};

/// A6 (ISO 216), millimetres: a slip goes into a record book.
const SLIP: (u32, u32) = (105, 148);
/// A4 (ISO 216), millimetres.
const PAGE: (u32, u32) = (210, 297);

fn foot(session: &Session) -> Text {
    let league = session.loaded.roster.league.name.clone();
    if session.loaded.roster.demo {
        Text::of("sheet.foot_demo").plain("league", league)
    } else {
        Text::of("sheet.foot").plain("league", league)
    }
}

/// A slip with its code, its line and the reasons.
pub fn of_slip(session: &Session, visit: &Visit, given: &GivenSlip) -> Sheet {
    let reasons = judging::verdict(session, visit).reasons;
    Sheet {
        top: Text::of("sheet.slip").plain("dog", &given.slip.dog),
        blocks: vec![SheetBlock {
            heading: None,
            pairs: look::slip_lines(&given.slip),
            below: reasons.into_iter().map(|r| r.text).collect(),
            beside: Some(given.code.clone()),
        }],
        foot: foot(session),
        width_mm: SLIP.0,
        height_mm: SLIP.1,
    }
}

/// The return: who measured, then a block a dog.
pub fn of_return(session: &Session) -> Sheet {
    let people = session.seated.iter().map(|p| {
        let person = session.loaded.person(p);
        let number = person.map(|p| p.number.clone()).unwrap_or_default();
        line(
            "sheet.measurer",
            Text::of("statement.ink_line")
                .plain("name", session.loaded.name_of(p))
                .plain("number", number),
        )
    });
    let mut head = vec![
        line(
            "statement.day",
            Text::of("plain_day").day("day", session.day),
        ),
        line(
            "statement.venue",
            shown(session.venue.clone().unwrap_or_default()),
        ),
        line(
            "statement.pack",
            Text::of("venue.pack")
                .plain("pack", session.loaded.pack.name().to_owned())
                .plain("edition", session.loaded.pack.edition().to_owned()),
        ),
    ];
    head.extend(people);
    let dogs = session
        .visits
        .iter()
        .filter(|v| v.is_returned())
        .filter_map(|v| Some((v, &v.stated.as_ref()?.0)))
        .map(|(v, st)| SheetBlock {
            heading: Some(
                Text::of("sheet.dog")
                    .count("number", v.number)
                    .plain("dog", &st.dog),
            ),
            pairs: vec![
                line("slip.chip", shown(grouped(&st.chip))),
                line("statement.outcome", outcome_text(&st.outcome)),
                line("statement.measure", measure_text(st.measure)),
            ],
            below: row_notes(v, st),
            beside: None,
        });
    let first = SheetBlock {
        heading: None,
        pairs: head,
        below: Vec::new(),
        beside: None,
    };
    Sheet {
        top: Text::of("title.return"),
        blocks: std::iter::once(first).chain(dogs).collect(),
        foot: foot(session),
        width_mm: PAGE.0,
        height_mm: PAGE.1,
    }
}
