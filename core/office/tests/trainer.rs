//! The trainer's pages: who sees them, what they say, and where they keep silent.

mod support;

use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use http_body_util::BodyExt;
use standsquare_journal::record::fact::{Fact, Outcome};
use standsquare_measuring::gauge::Least;
use standsquare_office::accounts::Role;
use standsquare_office::{OfficeState, demo, trainer, web};
use standsquare_sync::post_body;
use support::*;
use tower::ServiceExt;

async fn get(office: &OfficeState, path: &str, cookie: &str) -> (StatusCode, String) {
    let request = Request::get(path).header(header::COOKIE, cookie);
    let request = request.body(Body::empty()).expect("a request");
    let answer = web::router(office.clone())
        .oneshot(request)
        .await
        .expect("an answer");
    let status = answer.status();
    let bytes = answer
        .into_body()
        .collect()
        .await
        .expect("a body")
        .to_bytes();
    (status, String::from_utf8(bytes.to_vec()).expect("text"))
}

/// Signs somebody in without the form; their cookie.
fn signed_in(office: &OfficeState, role: Role) -> String {
    let token = [role as u8 + 1; 32];
    let name = format!("{}-one", role.word());
    let word = "fifteen letters and more";
    apart(|| {
        office
            .put_account(&name, "Wren Ashdown", role, word, &[7; 16])
            .expect("an account");
        let now = std::time::SystemTime::now();
        let since = now
            .duration_since(std::time::UNIX_EPOCH)
            .expect("after 1970");
        let at_ms = i64::try_from(since.as_millis()).expect("a time");
        office
            .sign_in(&name, word, &token, at_ms)
            .expect("signed in");
    });
    format!("standsquare-office={}", hex(&token))
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

/// 25 small dogs, measured again 400 days later: three are medium then. Five were near the limit.
fn two_sessions() -> Pen {
    let mut pen = Pen::new(1);
    pen.set_up();
    let chip = |n: u32| format!("999000{n:09}");
    for n in 1..=25 {
        let mut s = pen.statement(n, &format!("Dog {n}"), &chip(n));
        if n <= 5 {
            s.flags = vec!["near-limit".into()];
        }
        pen.dog(&s);
    }
    pen.close();
    pen.session = [0x5f; 16];
    pen.write(Fact::SessionBegun {
        session: pen.session.into(),
        roster: [1; 32].into(),
        pack: [2; 32].into(),
        offset_min: 60,
        day: DAY + 400,
    });
    pen.write(Fact::VenueSet {
        name: "Hollin Field".into(),
    });
    for (person, number) in [("ottoline", "LM-014"), ("bram", "LM-022")] {
        pen.write(Fact::Seated {
            person: person.into(),
            number: number.into(),
        });
    }
    pen.write(Fact::QueueOpened {});
    for n in 1..=25 {
        let mut s = pen.statement(n, &format!("Dog {n}"), &chip(n));
        (s.measure, s.day) = (2, DAY + 400);
        if n <= 3 {
            s.outcome = Outcome::Category {
                id: "medium".into(),
                label: "Medium".into(),
            };
        }
        pen.dog(&s);
    }
    pen.close();
    pen
}

fn office_with(rules: &str) -> OfficeState {
    let mut roster = demo::roster();
    roster.pack.push_str(rules);
    let office =
        apart(|| OfficeState::open(engine(), demo::demo_only_key(), roster).expect("an office"));
    let body = post_body(&two_sessions().frames);
    apart(|| office.ingest(&body, BEGIN_MS)).expect("taken in");
    office
}

#[tokio::test]
async fn only_the_trainer_and_the_secretary_see_them() {
    let office = office_with("");
    for path in [
        "/trainer",
        "/trainer/changes.csv",
        "/trainer/measurers/bram",
        "/trainer/measurers/bram/months.csv",
    ] {
        assert_eq!(
            get(&office, path, "").await.0,
            StatusCode::SEE_OTHER,
            "{path}"
        );
        for (role, status) in [
            (Role::Reader, StatusCode::FORBIDDEN),
            (Role::Measurer, StatusCode::FORBIDDEN),
            (Role::Trainer, StatusCode::OK),
            (Role::Secretary, StatusCode::OK),
        ] {
            let cookie = signed_in(&office, role);
            assert_eq!(
                get(&office, path, &cookie).await.0,
                status,
                "{path} {role:?}"
            );
        }
    }
    let cookie = signed_in(&office, Role::Trainer);
    let missing = get(&office, "/trainer/measurers/nobody", &cookie).await;
    assert_eq!(missing.0, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn second_measures_are_counted_and_measurers_are_named_without_numbers() {
    let office = office_with("");
    let cookie = signed_in(&office, Role::Trainer);
    let (_, page) = get(&office, "/trainer", &cookie).await;
    // 3 of 25: Wilson's interval by statsmodels' proportion_confint is 4.2 to 30.0 %.
    assert!(page.contains("12.0 % (3 of 25; 4.2 % to 30.0 %)"), "{page}");
    assert!(
        page.contains("nothing is said below 20"),
        "no medium dogs at first"
    );
    assert!(page.contains("sureness.spread"), "what is missing is named");
    assert!(!page.contains("<svg"));
    let list = &page[page.find("One at a time").expect("the list")..];
    let list = &list[..list.find("</ul>").expect("its end")];
    assert!(list.contains("Bram Tolley") && list.contains("Ottoline Marsh"));
    let text: String = list
        .split('<')
        .filter_map(|p| p.split_once('>'))
        .map(|(_, t)| t)
        .collect();
    assert!(
        !text.contains(|c: char| c.is_ascii_digit()),
        "a league table: {text}"
    );
    let (_, csv) = get(&office, "/trainer/changes.csv", &cookie).await;
    assert!(
        csv.starts_with("first,second,dogs\r\nsmall,small,22\r\nsmall,medium,3\r\n"),
        "{csv}"
    );
}

#[tokio::test]
async fn one_measurers_page_holds_their_numbers_alone() {
    let office = office_with("");
    let cookie = signed_in(&office, Role::Trainer);
    let (_, page) = get(&office, "/trainer/measurers/bram", &cookie).await;
    assert!(
        page.contains("Bram Tolley") && !page.contains("Ottoline"),
        "{page}"
    );
    assert!(
        page.contains("10.0 % (5 of 50;") && page.contains("12.0 % (3 of 25;"),
        "{page}"
    );
    assert!(
        page.contains("2 so far; nothing is said below 6"),
        "two months are no chart"
    );
    let (_, csv) = get(&office, "/trainer/measurers/bram/months.csv", &cookie).await;
    assert_eq!(
        csv,
        "month,near_limit,dogs\r\n2026-11,5,25\r\n2027-12,0,25\r\n"
    );
}

#[tokio::test]
async fn with_the_bodys_own_spread_the_curves_and_risks_are_shown() {
    let office = office_with(
        "\n[sureness]\nspread = \"4 mm\"\nguard_band = \"3 mm\"\n\
         heights = [{ from = \"25 cm\", to = \"60 cm\", dogs = 100 }]\n",
    );
    let cookie = signed_in(&office, Role::Secretary);
    let (_, page) = get(&office, "/trainer", &cookie).await;
    assert_eq!(page.matches("<svg").count(), 2, "one for each limit");
    assert!(
        page.contains("spread of 4 mm") && page.contains("With hoops 3 mm lower"),
        "{page}"
    );
}

#[test]
fn twelve_months_make_a_chart_and_a_bad_one_stands_out() {
    let mut all = Vec::new();
    for month in 1..=12 {
        for n in 0..40 {
            all.push(trainer::Measured {
                day: chrono::NaiveDate::from_ymd_opt(2026, month, 5).expect("a day"),
                chip: format!("{month}-{n}"),
                category: Some(0),
                measure: 1,
                near_limit: n < if month == 9 { 20 } else { 4 },
                people: vec!["bram".into()],
            });
        }
    }
    let found = trainer::of_measurer(&all, "bram", Least::default());
    let (centre, points) = found.chart.expect("a chart");
    assert!((centre - 64.0 / 480.0).abs() < 1e-12);
    let out: Vec<usize> = (0..12).filter(|i| points[*i].outside).collect();
    assert_eq!(out, [8]);
    assert!(
        trainer::of_measurer(&all, "ottoline", Least::default())
            .near_limit
            .is_err()
    );
}

/// A form of the hoops' page.
async fn post(office: &OfficeState, path: &str, cookie: &str, form: &str) -> (StatusCode, String) {
    let request = Request::post(path)
        .header(header::COOKIE, cookie)
        .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
        .body(Body::from(form.to_owned()))
        .expect("a request");
    let answer = web::router(office.clone())
        .oneshot(request)
        .await
        .expect("an answer");
    let status = answer.status();
    let body = answer.into_body().collect().await.expect("a body");
    let bytes = body.to_bytes().to_vec();
    (status, String::from_utf8(bytes).expect("text"))
}

/// The word that the page's form brings back.
fn word_of(page: &str) -> String {
    let rest = page.split("name=\"word\" value=\"").last().expect("a form");
    rest.split('"').next().expect("a word").to_owned()
}

#[tokio::test]
async fn a_bent_hoop_lists_the_measures_since_its_last_good_check() {
    let office = office_with("");
    let cookie = signed_in(&office, Role::Trainer);
    let reader = signed_in(&office, Role::Reader);
    assert_eq!(get(&office, "/hoops", "").await.0, StatusCode::SEE_OTHER);
    assert_eq!(
        get(&office, "/hoops/h35", &reader).await.0,
        StatusCode::FORBIDDEN
    );
    let (status, page) = get(&office, "/hoops/h35", &cookie).await;
    assert_eq!(status, StatusCode::OK);
    assert!(page.contains("No check is on record here"), "{page}");
    let word = word_of(&page);
    let form = |nth: u32, day: &str, heights: [&str; 3]| {
        format!(
            "word={word}&nth={nth}&day={day}&left={}&middle={}&right={}&uncertainty=0.1&instrument=Steel+rule+17",
            heights[0], heights[1], heights[2]
        )
    };
    // What cannot be is refused with what to do, and nothing is noted.
    for (bad, says) in [
        (form(1, "yesterday", ["350"; 3]), "2026-11-25"),
        (
            form(1, "2026-01-10", ["350", "350", "35,1"]),
            "with a point",
        ),
        (
            form(1, "2026-01-10", ["350", "350", "35.1"]),
            "such as 350.4",
        ),
        (form(1, "2099-01-10", ["350"; 3]), "to come"),
        (form(2, "2026-01-10", ["350"; 3]), "look at it again"),
    ] {
        let (status, said) = post(&office, "/hoops/h35", &cookie, &bad).await;
        assert_eq!(status, StatusCode::CONFLICT, "{bad}");
        assert!(said.contains(says), "{bad}: {said}");
    }
    // Without the page's word nothing is taken.
    let forged = form(1, "2026-01-10", ["350"; 3]).replace(&word, "0000");
    let (status, _) = post(&office, "/hoops/h35", &cookie, &forged).await;
    assert_eq!(status, StatusCode::CONFLICT);
    // Larkmere's tolerance is 1 mm. Good before the first session, 1.4 mm too high after the second.
    let day = |number: i32| {
        let day = chrono::NaiveDate::from_epoch_days(number).expect("a day");
        day.to_string()
    };
    let good = form(1, &day(DAY - 1), ["350.2", "350.0", "349.9"]);
    assert_eq!(
        post(&office, "/hoops/h35", &cookie, &good).await.0,
        StatusCode::SEE_OTHER
    );
    let page = get(&office, "/hoops/h35", &cookie).await.1;
    assert!(
        page.contains("Pass") && !page.contains("In doubt"),
        "{page}"
    );
    // The day of the second session may be to come by this machine's clock: a check on the first day.
    let bad = form(2, &day(DAY), ["350.2", "351.4", "350.1"]);
    assert_eq!(
        post(&office, "/hoops/h35", &cookie, &bad).await.0,
        StatusCode::SEE_OTHER
    );
    let page = get(&office, "/hoops/h35", &cookie).await.1;
    assert!(page.contains("Failed: not to be used"), "{page}");
    // All 25 small dogs of that day were within it: a hoop too high could have let each in.
    assert!(
        page.contains("25 measures were made with it since; 25 of them"),
        "{page}"
    );
    let csv = get(&office, "/hoops/h35/affected.csv", &cookie).await.1;
    assert_eq!(csv.lines().count(), 26, "{csv}");
    assert!(
        csv.lines().skip(1).all(|l| l.ends_with("within,yes")),
        "{csv}"
    );
    // Its fellow was not touched.
    assert!(
        get(&office, "/hoops/h43", &cookie)
            .await
            .1
            .contains("No check is on record here")
    );
    let all = get(&office, "/hoops", &cookie).await.1;
    assert!(all.contains("Failed") && all.contains("No check"), "{all}");
}

#[tokio::test]
async fn drills_that_a_trainer_signed_are_on_the_trainees_page() {
    use ed25519_dalek::Signer;
    use standsquare_journal::record::fact::ALG_ED25519;
    use standsquare_journal::record::practice_bytes;
    use standsquare_measuring::gauge::practice::{Answer, Drill, DrillRecord, Plan};
    use standsquare_measuring::{Length, RulePack};

    let pack = RulePack::parse(standsquare_measuring::LARKMERE).expect("a pack");
    let drill = |seed| {
        let plan = Plan {
            gauge: "hoop-35".into(),
            placings: 40,
            reach: Length::from_nm(10_000_000),
            step: Length::from_nm(1_000_000),
        };
        Drill::new(&pack, plan, seed).expect("a drill")
    };
    let record = |seed, twisted: bool| {
        let drill = drill(seed);
        let answers = drill.tasks.iter().enumerate().map(|(n, task)| {
            let within = task.height <= drill.hoop();
            let close = task.height.apart(drill.hoop()) <= Length::from_nm(2_000_000);
            // Every other one within two millimetres is taken the wrong way.
            if within != (close && n % 2 == 0) {
                Answer::Flat
            } else {
                Answer::NotFlat
            }
        });
        let answers = answers.collect();
        let mut record = DrillRecord {
            trainee: "wren".into(),
            on: "2026-11-20".parse().expect("a day"),
            rules: (pack.id().to_owned(), pack.edition().to_owned()),
            drill,
            answers,
        };
        if twisted {
            // A signature does not make a drill of what no seed gave.
            record.drill.tasks.swap(0, 1);
            record.drill.tasks[0].height = record.drill.hoop();
        }
        serde_json::to_vec(&record).expect("JSON")
    };
    let mut pen = Pen::new(1);
    pen.set_up();
    for (seed, twisted) in [(1, false), (2, false), (3, true)] {
        let record = record(seed, twisted);
        let key = person_key("ottoline");
        let signature = key.sign(&practice_bytes(&record)).to_bytes();
        pen.write(Fact::PracticeSigned {
            person: "ottoline".into(),
            record,
            alg: ALG_ED25519,
            signature: signature.into(),
        });
    }
    pen.close();
    let office = support::office();
    let body = post_body(&pen.frames);
    apart(|| office.ingest(&body, BEGIN_MS)).expect("taken in");
    let cookie = signed_in(&office, Role::Trainer);
    let page = get(&office, "/trainer/measurers/wren", &cookie).await.1;
    assert_eq!(page.matches("2026-11-20").count(), 2, "{page}");
    assert!(
        page.contains("Ottoline Marsh") && page.contains("Spread of one placing"),
        "{page}"
    );
    let csv = get(&office, "/trainer/measurers/wren/drills.csv", &cookie)
        .await
        .1;
    assert_eq!(csv.lines().count(), 81, "{csv}");
    // The body's own page: common figures, nobody's name beside them.
    let page = get(&office, "/trainer", &cookie).await.1;
    assert!(page.contains("80, by 1 people"), "{page}");
}
