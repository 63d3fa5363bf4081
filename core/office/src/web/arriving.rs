//! A post while it arrives. What has come of it is taken in before the rest is there, and as soon
//! as rivals have brought everything together, each of them is answered: on a bad link the last
//! packet of a body may be seconds behind the others (decision 21).

use std::time::Duration;

use axum::body::{Body, BodyDataStream};
use futures_util::StreamExt;
use standsquare_sync::{BodyFault, Limits};

use super::{apart, now_ms};
use crate::ingest::Arriving;
use crate::state::OfficeState;

/// How long the rest of a post that was answered already is read on, so that the answer is not
/// cut off by what still comes. Own choice, no source.
const READ_ON: Duration = Duration::from_secs(30);

/// How soon a post to which nothing more comes looks whether rivals have brought the rest to
/// another office before the same database; twice that later, and so on five times. Telling each
/// other through the database (`NOTIFY`) would have every commit of any office wait for the one
/// before: PostgreSQL takes a lock for it. Own choice, no source: a third of the bad link's round
/// trip, for one look-up by index.
const LOOK_FIRST: Duration = Duration::from_millis(100);

/// What a post came to.
pub(super) enum Arrived {
    /// All of it is here.
    Whole(Vec<u8>),
    /// All of what it is about is in the record; this is the signed receipt.
    Early(Vec<u8>),
    /// It is too long.
    TooLarge(BodyFault),
    /// The connection broke.
    CutOff,
}

/// Reads a post, taking in what can be.
pub(super) async fn arrive(office: &OfficeState, body: Body) -> Arrived {
    let limit = Limits::default().body_bytes;
    let mut parts = body.into_data_stream();
    let mut got: Vec<u8> = Vec::new();
    let mut early = Arriving::default();
    let shared = office.engine().is_shared();
    let mut looked = 0;
    loop {
        let told = office.arrivals().notified();
        tokio::pin!(told);
        // From here on nothing that arrives is missed.
        told.as_mut().enable();
        if let Some(receipt) = receipt(office, &mut early).await {
            tokio::spawn(read_on(parts));
            return Arrived::Early(receipt);
        }
        tokio::select! {
            part = parts.next() => match part {
                Some(Ok(bytes)) if got.len() + bytes.len() > limit => {
                    return Arrived::TooLarge(BodyFault::TooLarge(limit));
                }
                Some(Ok(bytes)) => {
                    got.extend_from_slice(&bytes);
                    looked = 0;
                    more(office, &mut early, &got).await;
                }
                Some(Err(_)) => return Arrived::CutOff,
                None => return Arrived::Whole(got),
            },
            () = told, if early.may_be_early() => {}
            () = tokio::time::sleep(LOOK_FIRST * (1 << looked)), if shared && early.may_be_early() => {
                looked = (looked + 1).min(5);
            }
        }
    }
}

async fn read_on(mut parts: BodyDataStream) {
    let all = async { while let Some(Ok(_)) = parts.next().await {} };
    let _ = tokio::time::timeout(READ_ON, all).await;
}

/// Takes in what has newly come whole, and tells the posts that may be whole by it.
async fn more(office: &OfficeState, early: &mut Arriving, got: &[u8]) {
    let Some(part) = early.part(got) else {
        return;
    };
    let mut here = std::mem::take(early);
    let at_ms = now_ms();
    let taken = apart(office, move |office| {
        let held = here.take(office, &part, at_ms);
        Ok((here, held))
    });
    *early = match taken.await {
        Ok((back, held)) => {
            if held {
                office.arrivals().notify_waiters();
            }
            back
        }
        Err(_) => Arriving::not_early(),
    };
}

/// The receipt, if it can be given now.
async fn receipt(office: &OfficeState, early: &mut Arriving) -> Option<Vec<u8>> {
    if !early.may_be_early() {
        return None;
    }
    let here = std::mem::take(early);
    let asked = apart(office, move |office| {
        // A fault here is none of the post's: it is answered when it is all there.
        let receipt = here.receipt(office, now_ms()).ok().flatten();
        Ok((here, receipt))
    });
    let (back, receipt) = asked.await.unwrap_or((Arriving::not_early(), None));
    *early = back;
    receipt
}
