//! A post while it arrives. What has come of it is taken in before the rest is there, and as soon
//! as rivals have brought everything together, each of them is answered: on a bad link the last
//! packet of a body may be seconds behind the others (decision 21).

use std::collections::BTreeSet;
use std::time::Duration;

use axum::body::{Body, BodyDataStream};
use futures_util::StreamExt;
use standsquare_journal::record::chain;
use standsquare_sync::{BodyFault, Frame, Limits, begun, frame_id};

use super::{apart, now_ms};
use crate::ingest::Stretch;
use crate::state::OfficeState;

/// How long the rest of a post that was answered already is read on, so that the answer is not
/// cut off by what still comes. Own choice, no source.
const READ_ON: Duration = Duration::from_secs(30);

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
    let mut early = Early::default();
    loop {
        let told = office.arrivals().notified();
        tokio::pin!(told);
        // From here on nothing that arrives is missed.
        told.as_mut().enable();
        if let Some(receipt) = early.receipt(office).await {
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
                    early.more(office, &got).await;
                }
                Some(Err(_)) => return Arrived::CutOff,
                None => return Arrived::Whole(got),
            },
            () = told, if early.stretch.is_some() => {}
        }
    }
}

async fn read_on(mut parts: BodyDataStream) {
    let all = async { while let Some(Ok(_)) = parts.next().await {} };
    let _ = tokio::time::timeout(READ_ON, all).await;
}

/// What is known of a post before its end.
#[derive(Default)]
struct Early {
    /// Frames of it that were taken in.
    taken: usize,
    /// What it is about, once the office holds some frame of it and as long as it refused none.
    stretch: Option<Stretch>,
    /// It is answered when it is all there, as ever.
    not_early: bool,
}

impl Early {
    /// More of the body has come: whole frames in it are taken in.
    async fn more(&mut self, office: &OfficeState, got: &[u8]) {
        if self.not_early {
            return;
        }
        let Some((numbers, frames)) = begun(got, Limits::default(), chain) else {
            return;
        };
        let new: Vec<_> = frames.into_iter().skip(self.taken).collect();
        let Some(first) = new.first() else {
            return;
        };
        self.taken += new.len();
        let journal = Frame::decode_strict(first).map(|f| (f.device_key, f.journal));
        let ids: BTreeSet<_> = new.iter().map(|bytes| frame_id(bytes)).collect();
        let at_ms = now_ms();
        let taken = apart(office, move |office| office.take_frames(&new, at_ms)).await;
        match (journal, taken) {
            // Whose journal it is was proved by the seals.
            (Ok(journal), Ok((held, _)))
                if held.iter().copied().collect::<BTreeSet<_>>() == ids =>
            {
                self.stretch = Some((journal, numbers));
                office.arrivals().notify_waiters();
            }
            _ => {
                self.stretch = None;
                self.not_early = true;
            }
        }
    }

    async fn receipt(&self, office: &OfficeState) -> Option<Vec<u8>> {
        let stretch = self.stretch?;
        let asked = apart(office, move |office| {
            office.receipt_of_stretch(stretch, now_ms())
        });
        asked.await.ok().flatten()
    }
}
