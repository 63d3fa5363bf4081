//! Who asks: the cookie of whoever is signed in, and the word against forged forms.

use axum::extract::FromRequestParts;
use axum::http::request::Parts;
use axum::http::{HeaderMap, header};
use sha2::{Digest, Sha256};

use super::{Failed, apart, hex32, now_ms};
use crate::accounts::Worker;
use crate::state::OfficeState;

/// The cookie's name.
const COOKIE: &str = "standsquare-office";

/// Somebody who may look at this office's pages. At the demo office everybody may;
/// elsewhere only who is signed in.
pub(super) struct Visitor {
    /// Who is signed in, with their cookie's value.
    pub signed_in: Option<(Worker, [u8; 32])>,
}

impl Visitor {
    /// Who is signed in.
    pub fn worker(&self) -> Option<&Worker> {
        self.signed_in.as_ref().map(|(worker, _)| worker)
    }

    /// Whoever sent a form, once it is shown to be one of our own pages, brought back by
    /// the very sign-in that it was shown to.
    pub fn with_form(
        self,
        office: &OfficeState,
        word: &str,
        headers: &HeaderMap,
    ) -> Result<Worker, Failed> {
        self.form_of(office, word, headers)?;
        let (worker, _) = self.signed_in.ok_or(Failed::SignInFirst)?;
        Ok(worker)
    }

    /// The same, where it does not matter who sent it.
    pub fn form_of(
        &self,
        office: &OfficeState,
        word: &str,
        headers: &HeaderMap,
    ) -> Result<(), Failed> {
        let (_, token) = self.signed_in.as_ref().ok_or(Failed::SignInFirst)?;
        if word != form_word(token) || !from_here(headers) {
            let why = "This form does not belong to your present sign-in. Open the page again.";
            return Err(Failed::Refused(office.clone(), why.into()));
        }
        Ok(())
    }

    /// The word that forms have to bring back.
    pub fn form_word(&self) -> Option<String> {
        self.signed_in.as_ref().map(|(_, token)| form_word(token))
    }
}

impl FromRequestParts<OfficeState> for Visitor {
    type Rejection = Failed;

    async fn from_request_parts(
        parts: &mut Parts,
        office: &OfficeState,
    ) -> Result<Self, Self::Rejection> {
        let signed_in = match token_in(&parts.headers) {
            None => None,
            Some(token) => {
                let at_ms = now_ms();
                let worker = apart(office, move |office| office.worker(&token, at_ms)).await?;
                worker.map(|worker| (worker, token))
            }
        };
        if signed_in.is_none() && !office.roster().demo {
            return Err(Failed::SignInFirst);
        }
        Ok(Visitor { signed_in })
    }
}

/// Whether the browser says that the form is one of this office's own pages. Old
/// browsers say nothing; the cookie's SameSite and the form's word stand behind it.
pub(super) fn from_here(headers: &HeaderMap) -> bool {
    match headers.get("sec-fetch-site").map(|v| v.as_bytes()) {
        None | Some(b"same-origin" | b"none") => true,
        Some(_) => false,
    }
}

/// A word that only pages shown to this cookie carry: another site's form lacks it.
pub(super) fn form_word(token: &[u8; 32]) -> String {
    let hash = Sha256::new()
        .chain_update(b"standsquare form\0")
        .chain_update(token)
        .finalize();
    hex::encode(hash)
}

/// The cookie's value, if there is one of ours.
pub(super) fn token_in(headers: &HeaderMap) -> Option<[u8; 32]> {
    let cookies = headers
        .get_all(header::COOKIE)
        .iter()
        .filter_map(|c| c.to_str().ok());
    cookies
        .flat_map(|line| line.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .find(|(name, _)| *name == COOKIE)
        .and_then(|(_, value)| hex32(value))
}

/// The header that sets the cookie; `None` takes it away. Not for scripts, and not
/// sent with what another site asks for.
pub(super) fn cookie(token: Option<&[u8; 32]>) -> String {
    let (value, age) = match token {
        Some(token) => (hex::encode(token), crate::accounts::SIGNED_IN_MS / 1000),
        None => (String::new(), 0),
    };
    format!("{COOKIE}={value}; Path=/; Max-Age={age}; HttpOnly; SameSite=Strict")
}
