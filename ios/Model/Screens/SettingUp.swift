import Foundation
import StandsquareCore

/// Nothing under way.
public struct HomeState: Sendable, Hashable {
    public struct Session: Sendable, Hashable, Identifiable {
        public let id: String
        public let day: String
        public let venue: String
        /// Shows it.
        public let open: Tap
        /// What that is called.
        public let openLabel: String
        /// Dogs signed, and how many of them the office does not have.
        public let dogs: String
        public let sending: String
    }

    public let roster: NoticeState
    /// What the drawing shows, for who does not see it.
    public let drawing: String
    public let heading: String
    /// Newest first.
    public let sessions: [Session]
    /// Said where there are none.
    public let none: String?

    init(_ home: HomeScreen, _ d: Drawing) {
        roster =
            home.roster
            ? d.notice(.good, d.words("ui.home.roster"))
            : d.notice(.care, d.words("ui.home.no_roster"))
        drawing = d.words("ui.stance.drawing")
        heading = d.words("ui.home.earlier")
        none = home.sessions.isEmpty ? d.words("ui.home.none") : nil
        sessions = home.sessions.map {
            Session(
                id: $0.id, day: d.words.day($0.day), venue: $0.venue, open: d.tap($0.open),
                openLabel: d.words("ui.page.open", ["what": .plain(d.words.day($0.day))]),
                dogs: d.words("ui.session.dogs", ["count": .count($0.dogs)]),
                sending: $0.waiting == 0
                    ? d.words("ui.session.sent")
                    : d.words("ui.session.waiting", ["count": .count($0.waiting)]))
        }
    }
}

/// Where are we.
public struct VenueState: Sendable, Hashable {
    public let packLabel: String
    public let pack: String
    public let venues: [ChoiceState]
    /// For a place that the roster does not have.
    public let other: TextEntry

    init(_ venue: VenueScreen, _ d: Drawing) {
        packLabel = d.words("ui.venue.rules")
        pack = d.words(venue.pack)
        venues = venue.venues.map {
            ChoiceState(id: $0, label: $0, chosen: false, tap: d.tap(.setVenue(name: $0)))
        }
        other = TextEntry(
            prompt: d.words("ui.venue.another"), hint: d.words("ui.venue.type"),
            confirm: d.words("ui.venue.use"), pad: nil, purpose: .venue, seen: d.seen)
    }
}

/// Is the surface level.
public struct SurfaceState: Sendable, Hashable {
    public let instruction: String
    /// The same with its weight, once the surface is found level or not.
    public let outcome: NoticeState?
    /// Which of the two readings is next; nothing once both are taken.
    public let progress: String?
    /// What was found against the pack's limit, once known.
    public let tilt: String?
    /// Where the phone's own tilt goes in.
    public let entry: LevelEntry

    /// Whether this button takes the phone's own tilt with it.
    public func isReading(_ button: ButtonState) -> Bool {
        if case .levelReading = button.tap.act { true } else { false }
    }

    init(_ surface: SurfaceScreen, _ d: Drawing) {
        instruction = d.words(surface.instruction)
        outcome = surface.level.map { d.notice($0 ? .good : .bad, d.words(surface.instruction)) }
        progress =
            surface.level == nil
            ? d.words("ui.surface.reading", ["taken": .count(surface.taken + 1)]) : nil
        tilt = surface.tiltMdeg.map {
            d.words(
                "ui.surface.tilt",
                [
                    "tilt": .plain(d.words.degrees(mdeg: $0)),
                    "limit": .plain(d.words.degrees(mdeg: surface.limitMdeg)),
                ])
        }
        entry = LevelEntry(seen: d.seen)
    }
}

/// A hoop.
public struct HoopState: Sendable, Hashable, Identifiable {
    public let id: String
    /// Its name in the rule pack's words.
    public let label: String
    /// The number stamped on it, and when it was last checked.
    public let details: [String]
    public let note: NoticeState?
    /// Good, not good.
    public let choices: [ChoiceState]

    init(_ hoop: HoopLine, _ d: Drawing) {
        id = hoop.id
        label = hoop.label
        details = [
            d.words("ui.hoop.serial", ["serial": .plain(hoop.serial)]),
            d.words("ui.hoop.checked", ["day": .day(iso: hoop.checked)]),
        ]
        note = d.notice(.care, hoop.note)
        choices = [
            ChoiceState(
                id: "\(hoop.id).good", label: d.words("ui.hoop.good"), chosen: hoop.good == true,
                tap: d.tap(hoop.sayGood)),
            ChoiceState(
                id: "\(hoop.id).bad", label: d.words("ui.hoop.bad"), chosen: hoop.good == false,
                tap: d.tap(hoop.sayBad)),
        ]
    }
}

/// Are the hoops good.
public struct HoopsState: Sendable, Hashable {
    /// What to look for.
    public let instruction: String
    public let hoops: [HoopState]

    init(_ hoops: HoopsScreen, _ d: Drawing) {
        instruction = d.words("ui.hoop.look")
        self.hoops = hoops.hoops.map { HoopState($0, d) }
    }
}

/// Who measures.
public struct MeasurersState: Sendable, Hashable {
    public struct Person: Sendable, Hashable, Identifiable {
        public let id: String
        public let name: String
        public let number: String
        public let seated: Bool
        /// Seats them, or unseats.
        public let toggle: Tap
        /// What being here means for them, where they do not measure.
        public let note: String?
        /// Why they may not be seated.
        public let whyNot: String?
    }

    public let people: [Person]
    /// How many sign each dog, in words.
    public let needed: String

    init(_ measurers: MeasurersScreen, _ d: Drawing) {
        people = measurers.people.map {
            Person(
                id: $0.id, name: $0.name, number: $0.number, seated: $0.seated,
                toggle: d.tap($0.toggle), note: d.words($0.note), whyNot: d.words($0.whyNot))
        }
        needed = d.words("ui.measurers.needed", ["count": .count(measurers.needed)])
    }
}

/// Set a PIN.
public struct PinState: Sendable, Hashable {
    public let entry: PinEntry

    init(_ pin: PinScreen, _ d: Drawing) {
        entry = PinEntry(
            person: pin.person,
            prompt: d.words(
                "ui.pin.for",
                [
                    "name": .plain(pin.name), "least": .count(pin.minDigits),
                    "most": .count(pin.maxDigits),
                ]),
            pad: PadState(
                Int(pin.minDigits)...Int(pin.maxDigits), secret: true, mayShow: true, d),
            purpose: .set, seen: d.seen)
    }
}
