//! What other parts read from a pack.

use chrono::NaiveDate;

use super::{
    AtLimit, Category, Coat, Gauge, GaugeKind, Procedure, RulePack, Signing, Step, Touching,
    Working,
};
use crate::dates::Span;
use crate::ids::{CategoryId, GaugeId, ProcedureId};
use crate::interval::{End, HeightInterval};

impl RulePack {
    /// The pack's short name, the same over all editions.
    pub fn id(&self) -> &str {
        &self.doc.pack.id
    }

    /// The edition of the rules.
    pub fn edition(&self) -> &str {
        &self.doc.pack.edition
    }

    /// The name shown.
    pub fn name(&self) -> &str {
        &self.doc.pack.name
    }

    /// The first day on which the rules hold.
    pub fn valid_from(&self) -> NaiveDate {
        self.doc.pack.valid_from
    }

    /// The last day on which they hold, if there is one.
    pub fn valid_to(&self) -> Option<NaiveDate> {
        self.doc.pack.valid_to
    }

    /// Whether they hold on a day.
    pub fn is_valid_on(&self, day: NaiveDate) -> bool {
        self.valid_from() <= day && self.valid_to().is_none_or(|last| day <= last)
    }

    /// Invented rules: everything made under them says 'demo, not official'.
    pub fn is_demo(&self) -> bool {
        self.doc.pack.demo
    }

    /// The categories, lowest first.
    pub fn categories(&self) -> &[Category] {
        &self.doc.category
    }

    /// A category by id.
    pub fn category(&self, id: &CategoryId) -> Option<&Category> {
        self.doc.category.iter().find(|c| c.id == *id)
    }

    /// The gauges.
    pub fn gauges(&self) -> &[Gauge] {
        &self.doc.gauge
    }

    /// A gauge by id.
    pub fn gauge(&self, id: &GaugeId) -> Option<&Gauge> {
        self.doc.gauge.iter().find(|g| g.id == *id)
    }

    /// The hoops, in the pack's order.
    pub fn hoops(&self) -> impl Iterator<Item = &Gauge> {
        self.gauges().iter().filter(|g| g.kind == GaugeKind::Hoop)
    }

    /// How many measurers a session normally needs.
    pub fn measurers_needed(&self) -> u32 {
        self.doc.measurers.needed
    }

    /// Together or independently.
    pub fn working(&self) -> Working {
        self.doc.measurers.work
    }

    /// A PIN for each dog, or one unlock a session.
    pub fn signing(&self) -> Signing {
        self.doc.measurers.sign
    }

    /// Minutes without anything done after which measurers type their PINs again, where a
    /// session is signed once.
    pub fn lock_after_minutes(&self) -> u32 {
        self.doc.measurers.lock_after
    }

    /// Whether a measurer's key may be opened by their own phone's biometrics.
    pub fn may_open_by_biometrics(&self) -> bool {
        self.doc.measurers.biometrics
    }

    /// How long measures are kept.
    pub fn keep_records(&self) -> Span {
        self.doc.records.keep
    }

    /// How long the handler's name and contact are kept.
    pub fn keep_personal(&self) -> Span {
        self.doc.records.keep_personal
    }

    /// The most the surface may be out of level, in hundredths of a degree.
    pub fn max_tilt_centidegrees(&self) -> Option<u32> {
        self.doc.surface.max_tilt_centidegrees
    }

    /// What a hoop says that comes down flat while touching the dog.
    pub fn touching(&self) -> Touching {
        self.doc.hoops.touching.unwrap_or(Touching::Within)
    }

    /// The steps before the placings, in the pack's order.
    pub fn steps(&self) -> &[Step] {
        &self.doc.steps.order
    }

    /// Whether two neighbouring steps may be taken in either order.
    pub fn may_swap(&self, a: Step, b: Step) -> bool {
        let pairs = &self.doc.steps.may_swap;
        pairs.contains(&(a, b)) || pairs.contains(&(b, a))
    }

    /// Whether the coat is pressed down.
    pub fn coat(&self) -> Coat {
        self.doc.stance.coat
    }

    /// The heights that belong to a category.
    pub fn range(&self, id: &CategoryId) -> Option<HeightInterval> {
        let index = self.doc.category.iter().position(|c| c.id == *id)?;
        Some(self.range_at(index))
    }

    pub(crate) fn index_of(&self, id: &CategoryId) -> Option<usize> {
        self.doc.category.iter().position(|c| c.id == *id)
    }

    pub(crate) fn at_limit(&self, index: usize) -> AtLimit {
        let category = &self.doc.category[index];
        category.at_limit.unwrap_or(self.doc.limits.at_limit)
    }

    pub(crate) fn range_at(&self, index: usize) -> HeightInterval {
        let categories = &self.doc.category;
        let lower = index.checked_sub(1).and_then(|below| {
            Some(End {
                at: categories[below].up_to?,
                closed: self.at_limit(below) == AtLimit::GoesUp,
            })
        });
        let upper = categories[index].up_to.map(|at| End {
            at,
            closed: self.at_limit(index) == AtLimit::Stays,
        });
        // Limits rise strictly in a checked pack, so the range holds heights.
        HeightInterval::new(lower, upper).unwrap_or(HeightInterval::UNKNOWN)
    }

    /// The categories that fit what is known, lowest first.
    pub(crate) fn candidates(&self, known: &HeightInterval) -> Vec<usize> {
        (0..self.doc.category.len())
            .filter(|i| self.range_at(*i).meets(known))
            .collect()
    }

    pub(crate) fn procedure(&self, id: &ProcedureId) -> Option<&Procedure> {
        self.doc.procedure.iter().find(|p| p.id == *id)
    }

    /// The gauges a procedure uses.
    pub(crate) fn gauges_of<'a>(&'a self, p: &'a Procedure) -> impl Iterator<Item = &'a Gauge> {
        let kind = if p.placings.is_some() {
            GaugeKind::Hoop
        } else {
            GaugeKind::Scale
        };
        self.gauges()
            .iter()
            .filter(move |g| g.kind == kind && (p.gauges.is_empty() || p.gauges.contains(&g.id)))
    }
}
