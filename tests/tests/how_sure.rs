//! How sure a category is, on the phone: only where the rules state what it rests on, only once all
//! have signed, and only to whom the rules say. And what an earlier measure found, where the rules
//! hide it until then.

use standsquare_session::view::{ArgValue, Screen, Text};
use standsquare_session::{Act, View};
use standsquare_tests::{Table, demo, practising};

use practising::stating_spread as stated;

fn line(view: &View) -> Option<Text> {
    match &view.screen {
        Screen::BookLine { book_line } => book_line.how_sure.clone(),
        Screen::Tell { tell } => tell.how_sure.clone(),
        _ => None,
    }
}

/// Moss, over 35 in three placings and flat on 43 at once: what the book's screen and the handler's
/// say of how sure that is.
fn lines(roster: String) -> (Option<Text>, Option<Text>) {
    let mut t = Table::new("");
    demo::set_up_with(&mut t, roster);
    demo::to_the_chip(&mut t, "moss");
    t.scan(&demo::chip_of("moss"));
    t.tap("settled");
    for _ in 0..3 {
        t.tap("stands_square");
        t.tap("base_not_flat");
    }
    t.tap("stands_square");
    t.tap("base_flat");
    // Nothing before all have signed.
    let glass = |t: &Table| serde_json::to_string(t.view()).expect("JSON");
    assert!(!glass(&t).contains("how_sure."), "{}", glass(&t));
    for (person, pin) in demo::PINS {
        assert!(!glass(&t).contains("how_sure."));
        t.act(Act::Sign {
            person: person.into(),
            pin: pin.into(),
        });
    }
    let book = line(t.view());
    t.tap("book_written");
    let tell = line(t.view());
    (book, tell)
}

#[test]
fn the_body_decides_who_sees_it() {
    assert_eq!(lines(standsquare_office::demo::roster_json()), (None, None));
    assert_eq!(lines(stated("5 mm", "nobody")), (None, None));
    let (book, tell) = lines(stated("5 mm", "measurers"));
    assert!(book.is_some() && tell.is_none());
    let (book, tell) = lines(stated("5 mm", "handler"));
    assert!(book.is_some() && book == tell);
}

#[test]
fn the_percentage_is_that_of_the_placings() {
    // Three not flat on 350 and one flat on 430 with heights even about both: nearly all lies
    // between them. Worked out by adding up over heights in steps of a hundredth of a millimetre, with a
    // normal distribution by a series of its own.
    let below = |z: f64| {
        // Abramowitz and Stegun 26.2.10, the power series; further out it loses its digits, and there
        // is nothing left to lose.
        if z.abs() > 5.5 {
            return if z > 0.0 { 1.0 } else { 0.0 };
        }
        let (mut term, mut sum, mut n) = (z, z, 0.0);
        while term.abs() > 1e-17 * f64::max(sum.abs(), 1e-300) && n < 400.0 {
            n += 1.0;
            term *= -z * z / (2.0 * n) * (2.0 * n - 1.0) / (2.0 * n + 1.0);
            sum += term;
        }
        (0.5 + sum / (2.0 * std::f64::consts::PI).sqrt()).clamp(0.0, 1.0)
    };
    let spread = 12.0;
    let likelihood = |h: f64| {
        let over = 1.0 - below((350.0 - h) / spread);
        over.powi(3) * below((430.0 - h) / spread)
    };
    // Each band holds as many dogs, so a narrow one is denser.
    let part = |from: f64, to: f64| {
        let steps = ((to - from) * 100.0) as u32;
        let sum: f64 = (0..steps)
            .map(|i| likelihood(from + (f64::from(i) + 0.5) / 100.0))
            .sum();
        sum / f64::from(steps)
    };
    let (small, medium, large) = (part(250.0, 350.0), part(350.0, 430.0), part(430.0, 600.0));
    let percent = (100.0 * medium / (small + medium + large)).floor() as i64;
    let (book, _) = lines(stated("12 mm", "measurers"));
    let book = book.expect("a line");
    assert_eq!(book.key, "how_sure.line");
    let said = book.args.iter().find(|a| a.name == "percent");
    assert_eq!(
        said.map(|a| a.value.clone()),
        Some(ArgValue::Count { n: percent })
    );
    assert!(
        (50..=98).contains(&percent),
        "{percent}: a case worth showing"
    );
    // With a spread of nearly nothing it is not called certain.
    let (book, _) = lines(stated("1 mm", "measurers"));
    assert_eq!(book.expect("a line").key, "how_sure.nearly");
}

#[test]
fn what_an_earlier_measure_found_is_hidden_until_all_have_signed() {
    let hidden = || {
        demo::roster_with(
            "sign = \"each-dog\"",
            "sign = \"each-dog\"\nearlier = \"after-signing\"",
        )
    };
    for (roster, hides) in [
        (hidden(), true),
        (standsquare_office::demo::roster_json(), false),
    ] {
        let mut t = Table::new("");
        demo::set_up_with(&mut t, roster);
        // Rook was measured medium before; nothing else on these screens is a medium.
        let says = |t: &Table| {
            let json = serde_json::to_string(&t.view().screen).expect("JSON");
            json.contains("Medium")
        };
        assert_ne!(says(&t), hides, "the queue");
        t.act(Act::CallDog { dog: "rook".into() });
        assert_ne!(says(&t), hides, "the papers");
        t.tap("book_agrees");
        t.tap("handler_all_clear");
        t.scan(&demo::chip_of("rook"));
        demo::to_the_hoop(&mut t);
        assert!(!says(&t));
        // Found small: another category than before, and no reason tells of that.
        t.tap("base_flat");
        let reasons = match &t.view().screen {
            Screen::Sign { sign } => serde_json::to_string(&sign.reasons).expect("JSON"),
            other => panic!("{other:?}"),
        };
        assert_ne!(reasons.contains("reason.differ-"), hides, "{reasons}");
        // What is signed says that they differ, and is shown whole.
        let statement = match &t.view().screen {
            Screen::Sign { sign } => serde_json::to_string(&sign.statement).expect("JSON"),
            other => panic!("{other:?}"),
        };
        assert!(statement.contains("flag.measures-differ"), "{statement}");
        demo::sign_and_tell(&mut t);
    }
}
