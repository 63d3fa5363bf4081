//! What a session says when it is asked.

use standsquare_measuring::Signing;
use standsquare_sync::roster::Dog;

use super::Session;
use crate::state::visit::Visit;

impl Session {
    /// Whether it is signed once, by a list at the close.
    pub fn is_signed_once(&self) -> bool {
        self.loaded.pack.signing() == Signing::Session
    }

    /// Whether this dog is confirmed by a tap now and signed with the list at the close. What
    /// settles it between two phones is signed there and then, as a correction is.
    pub fn is_tapped(&self, visit: &Visit) -> bool {
        self.is_signed_once() && visit.settles.is_none()
    }

    /// Whether nothing was done for so long that every key is closed again.
    pub fn has_idled(&self, now_ms: i64) -> bool {
        let most = i64::from(self.loaded.pack.lock_after_minutes()) * 60_000;
        now_ms.saturating_sub(self.last_ms).saturating_abs() >= most
    }

    /// Whether this measurer's key is open now.
    pub fn is_unlocked(&self, person: &str, now_ms: i64) -> bool {
        !self.has_idled(now_ms) && self.unlocked.contains(person)
    }

    /// Dogs that somebody has confirmed and not yet signed.
    pub fn to_be_listed(&self) -> impl Iterator<Item = &Visit> {
        self.visits.iter().filter(|v| !v.confirmed.is_empty())
    }

    /// The dog at the table.
    pub fn in_hand(&self) -> Option<&Visit> {
        self.at_table.and_then(|n| self.visits.get(n))
    }

    /// Dogs that wait aside.
    pub fn parked(&self) -> impl Iterator<Item = &Visit> {
        self.visits.iter().filter(|v| v.parked)
    }

    /// The measurers' numbers, in the order seated.
    pub fn numbers(&self) -> Vec<String> {
        let number = |id: &String| {
            let person = self.loaded.person(id);
            person.map_or_else(|| id.clone(), |p| p.number.clone())
        };
        self.seated.iter().map(number).collect()
    }

    /// The dog with this chip number in its book: on the list, or taken without being on it.
    pub fn dog_of(&self, number: &str) -> Option<&Dog> {
        let dogs = self.loaded.roster.dogs.iter().chain(&self.newcomers);
        let is = |listed: &str| {
            let printed = standsquare_chip::parse_printed(listed);
            printed.is_ok_and(|p| p.number.to_string() == number)
        };
        dogs.into_iter().find(|d| is(&d.chip))
    }

    /// A dog by its id: on the list, or taken without being on it.
    pub fn dog(&self, id: &str) -> Option<&Dog> {
        let newcomer = self.newcomers.iter().find(|d| d.id == id);
        newcomer.or_else(|| self.loaded.dog(id))
    }

    /// Whether the dog is not on the list.
    pub fn is_newcomer(&self, id: &str) -> bool {
        self.newcomers.iter().any(|d| d.id == id)
    }

    /// The last visit of this dog today.
    pub fn visit_of(&self, dog: &str) -> Option<&Visit> {
        self.visits.iter().rev().find(|v| v.dog == dog)
    }
}
