//! `journal.growth`: one act at the table, on the disk and answered with a view, on a phone
//! with 10,000 dogs behind it against one with 100, in the same run, taken in turn.

use std::time::Instant;

use standsquare_reader::encode::frame30;
use standsquare_session::act::{PlacingSeen, ReaderLink};
use standsquare_session::view::Screen;
use standsquare_session::{Act, Phone};
use standsquare_tests::filled::{self, SECRET, stamp};
use tempfile::TempDir;

type Fallible<T> = Result<T, Box<dyn std::error::Error>>;

const ROUNDS: usize = 600;
const GOAL: f64 = 1.2;

fn median(mut times: Vec<f64>) -> f64 {
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}

struct AtTable {
    _dir: TempDir,
    phone: Phone,
    seen: i64,
    n: u64,
}

impl AtTable {
    /// A phone with so many sessions behind it, the next dog standing square.
    fn with(sessions: u32) -> Fallible<Self> {
        let dir = TempDir::new()?;
        filled::fill(dir.path(), sessions);
        let phone = Phone::open(dir.path(), SECRET, &stamp(1_000))?;
        let seen = phone.view().revision;
        let mut table = AtTable {
            _dir: dir,
            phone,
            seen,
            n: 1_000,
        };
        let dog = filled::A_SESSION + 1;
        let chip = format!("999000000{dog:06}");
        let acts = [
            Act::CallDog {
                dog: format!("dog{dog}"),
            },
            Act::BookAgrees,
            Act::HandlerAllClear,
            Act::ReaderLink {
                link: ReaderLink::Connected,
                name: "bench".into(),
                reader: String::new(),
            },
            Act::ReaderBytes {
                bytes: frame30(&chip)?,
            },
            Act::Settled,
            Act::StandsSquare,
        ];
        for act in acts {
            table.act(&act)?;
        }
        match table.phone.view().screen {
            Screen::Placing { .. } => Ok(table),
            other => Err(format!("not at the hoop: {other:?}").into()),
        }
    }

    fn act(&mut self, act: &Act) -> Fallible<f64> {
        self.n += 1;
        let stamp = stamp(self.n);
        let before = self.seen;
        let begun = Instant::now();
        let answer = self.phone.apply(act, self.seen, &stamp)?;
        let took = begun.elapsed().as_secs_f64();
        self.seen = answer.view.revision;
        let wrote = self.seen > before;
        if !wrote && !matches!(act, Act::ReaderLink { .. }) {
            return Err(format!("{act:?} was refused: {:?}", answer.view.notice).into());
        }
        Ok(took)
    }
}

fn main() -> Fallible<()> {
    let mut few = AtTable::with(2)?;
    let mut many = AtTable::with(200)?;
    let hoop = || "h35".to_owned();
    // A placing that counts for nothing, taken back again, and again: the visit stays as
    // long as it is.
    let pair = [
        Act::Place {
            hoop: hoop(),
            seen: PlacingSeen::DogMoved,
        },
        Act::UndoPlacing,
    ];
    let (mut at_few, mut at_many) = (Vec::new(), Vec::new());
    for round in 0..ROUNDS {
        let act = &pair[round % 2];
        if round / 2 % 2 == 0 {
            at_few.push(few.act(act)?);
            at_many.push(many.act(act)?);
        } else {
            at_many.push(many.act(act)?);
            at_few.push(few.act(act)?);
        }
    }
    let ratio = median(at_many.iter().zip(&at_few).map(|(m, f)| m / f).collect());
    eprintln!(
        "an act with 100 dogs {:.3} ms, with 10,000 {:.3} ms",
        median(at_few) * 1_000.0,
        median(at_many) * 1_000.0
    );
    let verdict = if ratio <= GOAL { "ok" } else { "short" };
    println!("journal.growth {ratio:.3} {GOAL} {verdict}");
    Ok(())
}
