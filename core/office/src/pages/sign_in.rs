//! The page to sign in on.

use maud::{Markup, html};

use super::{Looker, page};
use crate::demo::DEMO_ONLY_ACCOUNT;
use crate::state::OfficeState;

/// The form; `trouble` says what went wrong the last time.
pub fn sign_in(office: &OfficeState, trouble: Option<&str>) -> Markup {
    let content = html! {
        @if let Some(words) = trouble { p.care role="alert" { (words) } }
        form.card method="post" action="/sign-in" {
            label for="account" { "Account" }
            input #account name="account" autocomplete="username" autocapitalize="none"
                required maxlength="40";
            label for="password" { "Password" }
            input #password name="password" type="password" autocomplete="current-password"
                required maxlength="1024";
            button type="submit" { "Sign in" }
        }
        @if office.roster().demo {
            p {
                "In this demo: account " code { (DEMO_ONLY_ACCOUNT.0) } ", password "
                code { (DEMO_ONLY_ACCOUNT.1) } "."
            }
        }
    };
    page(office, &Looker::default(), "Sign in", &content)
}
