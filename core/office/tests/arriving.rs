//! Posts while they arrive: rivals that each begin at another dog are answered as soon as they
//! have brought everything together.

mod support;

use std::time::Duration;

use axum::body::{Body, Bytes};
use axum::http::{Request, StatusCode};
use futures_util::stream;
use http_body_util::BodyExt;
use standsquare_journal::record::chain;
use standsquare_office::{OfficeState, web};
use standsquare_sync::{Receipt, frame_id, stretch_body};
use support::*;
use tokio::sync::mpsc::{UnboundedSender, unbounded_channel};
use tokio::task::JoinHandle;
use tower::ServiceExt;

/// Longer than any answer takes that comes at all.
const LONG: Duration = Duration::from_secs(60);

type Broken = std::io::Error;

/// A post that is under way: its body is fed by hand.
struct Post {
    feed: UnboundedSender<Result<Bytes, Broken>>,
    answer: JoinHandle<(StatusCode, Bytes)>,
}

impl Post {
    fn begin(office: &OfficeState) -> Post {
        let (feed, parts) = unbounded_channel::<Result<Bytes, Broken>>();
        let parts = stream::unfold(parts, async |mut parts| Some((parts.recv().await?, parts)));
        let request = Request::post("/v1/frames").body(Body::from_stream(parts));
        let routes = web::router(office.clone());
        let answer = tokio::spawn(async move {
            let answer = routes.oneshot(request.expect("a request")).await;
            let answer = answer.expect("an answer");
            let status = answer.status();
            let body = answer.into_body().collect().await;
            (status, body.map(|b| b.to_bytes()).unwrap_or_default())
        });
        Post { feed, answer }
    }

    fn bring(&self, bytes: &[u8]) {
        let part = Bytes::copy_from_slice(bytes);
        self.feed.send(Ok(part)).expect("it is read");
    }

    /// Nothing more comes; what it is answered.
    async fn end(self) -> (StatusCode, Bytes) {
        drop(self.feed);
        self.answer.await.expect("no panic")
    }

    async fn receipt(self, office: &OfficeState) -> Receipt {
        let answer = tokio::time::timeout(LONG, self.answer).await;
        let (status, body) = answer.expect("in time").expect("no panic");
        assert_eq!(status, StatusCode::OK);
        Receipt::verify(&body, &office.public_key()).expect("a receipt")
    }
}

fn ids(frames: &[Vec<u8>]) -> Vec<[u8; 32]> {
    let mut ids: Vec<_> = frames.iter().map(|f| frame_id(f)).collect();
    ids.sort_unstable();
    ids
}

#[tokio::test]
async fn rivals_that_bring_everything_together_are_all_answered() {
    let office = office();
    let frames = Pen::day(1, 30).frames;
    let posts: Vec<_> = [0, 15]
        .iter()
        .map(|turn| {
            let (body, post) = (stretch_body(&frames, *turn, chain), Post::begin(&office));
            // The rest of it never comes.
            post.bring(&body[..body.len() * 7 / 10]);
            post
        })
        .collect();
    for post in posts {
        let feed = post.feed.clone();
        let mut receipt = post.receipt(&office).await;
        receipt.held.sort_unstable();
        assert_eq!(receipt.held, ids(&frames));
        assert!(receipt.refused.is_empty());
        drop(feed);
    }
}

#[tokio::test]
async fn rivals_at_two_offices_before_one_database_are_both_answered() {
    let Ok(setting) = std::env::var("STANDSQUARE_TEST_POSTGRES") else {
        // Only there may more than one office work on the same data.
        return;
    };
    let schema = apart(|| fresh_schema(&setting));
    let offices = [(); 2].map(|()| office_over(apart(|| Box::new(postgres_at(&setting, &schema)))));
    let frames = Pen::day(1, 30).frames;
    let begun = |(office, turn)| {
        let (body, post) = (stretch_body(&frames, turn, chain), Post::begin(office));
        // The rest of it never comes.
        post.bring(&body[..body.len() * 7 / 10]);
        (office, post)
    };
    let posts: Vec<_> = offices.iter().zip([0, 15]).map(begun).collect();
    for (office, post) in posts {
        let feed = post.feed.clone();
        let mut receipt = post.receipt(office).await;
        receipt.held.sort_unstable();
        assert_eq!(receipt.held, ids(&frames));
        drop(feed);
    }
}

#[tokio::test]
async fn what_came_before_a_connection_broke_is_there() {
    let office = office();
    let frames = Pen::day(1, 30).frames;
    let body = stretch_body(&frames, 0, chain);
    let post = Post::begin(&office);
    post.bring(&body[..body.len() / 2]);
    let cut = Broken::other("the link went down");
    post.feed.send(Err(cut)).expect("it is read");
    let (status, _) = post.answer.await.expect("no panic");
    assert_ne!(status, StatusCode::OK, "nothing may be taken as held");
    let (_, visits) = apart(|| office.session(SESSION)).expect("the session");
    assert!((5..30).contains(&visits.len()), "{} dogs", visits.len());
    // Sent again it is all there, once.
    let receipt = support::post(&office, &frames);
    assert_eq!(receipt.held.len(), frames.len());
    let (_, visits) = apart(|| office.session(SESSION)).expect("the session");
    assert_eq!(visits.len(), 30);
}

#[tokio::test]
async fn another_history_is_not_answered_early_as_if_it_were_held() {
    let office = office();
    let mut pen = Pen::new(1);
    pen.set_up();
    pen.seal();
    let mut other = pen.clone();
    for visit in 1..=12 {
        pen.routine_dog(visit, &mut 1);
        other.routine_dog(visit, &mut 2);
    }
    held(&office, &pen.frames);
    // The first frame is common to both; what follows in the post is another history.
    let body = stretch_body(&other.frames, 0, chain);
    let post = Post::begin(&office);
    for part in body.chunks(700) {
        post.bring(part);
    }
    let (status, body) = post.end().await;
    assert_eq!(status, StatusCode::OK);
    let receipt = Receipt::verify(&body, &office.public_key()).expect("a receipt");
    assert_eq!(receipt.refused.len(), 12, "each is refused by name");
    assert!(receipt.refused.iter().all(|(_, why)| why == "fork"));
}

#[tokio::test]
async fn who_begins_well_and_goes_on_badly_is_refused_at_the_end() {
    let office = office();
    let frames = Pen::day(1, 30).frames;
    let mut body = stretch_body(&frames, 0, chain);
    let at = body.len() * 3 / 4;
    body[at..].fill(0x55);
    let post = Post::begin(&office);
    for part in body.chunks(1_300) {
        post.bring(part);
    }
    let (status, why) = post.end().await;
    assert_eq!(status, StatusCode::BAD_REQUEST);
    assert!(String::from_utf8_lossy(&why).contains("send it again"));
    // Sealed frames that had come are held: nothing else has changed.
    let (_, visits) = apart(|| office.session(SESSION)).expect("the session");
    assert!(visits.len() < 30);
    // Numbers that claim more than there is are no way to an early answer either.
    let mut claims = stretch_body(&frames, 0, chain);
    claims[14..22].copy_from_slice(&u64::MAX.to_be_bytes());
    let post = Post::begin(&office);
    post.bring(&claims);
    let (_, body) = post.end().await;
    let receipt = Receipt::verify(&body, &office.public_key()).expect("a receipt");
    assert_eq!(receipt.held.len(), frames.len());
}

#[tokio::test]
async fn a_post_that_is_too_long_is_refused_while_it_comes() {
    let office = office();
    let post = Post::begin(&office);
    for _ in 0..5 {
        post.bring(&vec![0; 1024 * 1024]);
    }
    let (status, _) = post.answer.await.expect("no panic");
    assert_eq!(status, StatusCode::PAYLOAD_TOO_LARGE);
}
