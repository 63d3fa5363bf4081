import Foundation
import StandsquareCore

/// Everything on the phone's glass, in words: what a view lays out without a question of its own.
public struct GlassState: Sendable, Hashable {
    public let title: String
    /// Said on every screen of an invented league.
    public let mark: String?
    public let league: String
    public let dog: DogHeading?
    public let screen: ScreenState
    /// In the order to show them.
    public let buttons: [ButtonState]
    public let notice: NoticeState?
    /// What could hurt here.
    public let cautions: [NoticeState]
    public let reader: ReaderState
    public let outbox: OutboxState

    /// The button that a routine dog needs next.
    public var mainButton: ButtonState? { buttons.first { $0.weight == .main } }

    /// A button by its id.
    public func button(_ id: String) -> ButtonState? { buttons.first { $0.id == id } }
}

/// Which screen, and what is on it.
public enum ScreenState: Sendable, Hashable {
    case home(HomeState)
    case venue(VenueState)
    case surface(SurfaceState)
    case hoops(HoopsState)
    case measurers(MeasurersState)
    case pin(PinState)
    case queue(QueueState)
    case papers(PapersState)
    case handler(HandlerState)
    case chip(ChipState)
    case settle(SettleState)
    case stance(StanceState)
    case placing(PlacingState)
    case sign(SignState)
    case bookLine(BookLineState)
    case tell(TellState)
    case stop(StopState)
    case correct(CorrectState)
    case newcomer(NewcomerState)
    case handOver(HandOverState)
    case unlock(UnlockState)
    case signList(SignListState)
    case close(CloseState)
    case sent(SentState)
    case readers(ReadersState)
    case slip(SlipState)
    case slipCheck(SlipCheckState)
    case past(PageState)
    case history(PageState)
    case settings(PageState)
    case incident(IncidentState)
    case objection(ObjectionState)
    case codes(CodesState)
    case heard(HeardState)
    case practice(PracticeState)
    case own(OwnState)
    case drill(DrillState)
    case feedback(FeedbackState)
    case shadow(ShadowState)
}

/// What a state is made with: the words, and the revision that its taps are made on.
struct Drawing {
    let words: Words
    let seen: Int64

    func tap(_ act: Act) -> Tap { Tap(act: act, seen: seen) }
}

extension GlassState {
    /// Draws a view of the core.
    public init(_ view: View, words: Words) {
        let drawing = Drawing(words: words, seen: view.revision)
        title = words(view.title)
        mark = view.demo ? words("demo.mark") : nil
        league = view.league
        dog = view.dog.map { DogHeading($0, drawing) }
        screen = ScreenState(view.screen, drawing)
        buttons = view.offers.map { ButtonState(view.screen.worded($0, drawing), drawing) }
        notice = view.notice.map { drawing.notice(Mood($0.tone), words($0.text)) }
        cautions = view.cautions.map {
            NoticeState(mood: .care, text: words($0), said: words("ui.caution"))
        }
        reader = ReaderState(view.reader, drawing)
        outbox = OutboxState(waiting: Int(view.outbox.waiting), text: words(view.outbox.text))
    }
}

extension ScreenState {
    init(_ screen: Screen, _ d: Drawing) {
        self =
            switch screen {
            case .home(let home): .home(HomeState(home, d))
            case .venue(let venue): .venue(VenueState(venue, d))
            case .surface(let surface): .surface(SurfaceState(surface, d))
            case .hoops(let hoops): .hoops(HoopsState(hoops, d))
            case .measurers(let measurers): .measurers(MeasurersState(measurers, d))
            case .pin(let pin): .pin(PinState(pin, d))
            case .queue(let queue): .queue(QueueState(queue, d))
            case .papers(let papers): .papers(PapersState(papers, d))
            case .handler(let handler): .handler(HandlerState(handler, d))
            case .chip(let chip): .chip(ChipState(chip, d))
            case .settle(let settle): .settle(SettleState(settle, d))
            case .stance(let stance): .stance(StanceState(stance, d))
            case .placing(let placing): .placing(PlacingState(placing, d))
            case .sign(let sign): .sign(SignState(sign, d))
            case .bookLine(let line): .bookLine(BookLineState(line, d))
            case .tell(let tell): .tell(TellState(tell, d))
            case .stop(let stop): .stop(StopState(stop, d))
            case .correct(let correct): .correct(CorrectState(correct, d))
            case .newcomer(let newcomer): .newcomer(NewcomerState(newcomer, d))
            case .handOver(let next): .handOver(HandOverState(next, d))
            case .unlock(let unlock): .unlock(UnlockState(unlock, d))
            case .signList(let list): .signList(SignListState(list, d))
            case .close(let close): .close(CloseState(close, d))
            case .return(let sent): .sent(SentState(sent, d))
            case .readers(let readers): .readers(ReadersState(readers, d))
            case .slip(let slip): .slip(SlipState(slip, d))
            case .slipCheck(let check): .slipCheck(SlipCheckState(check, d))
            case .past(let past): .past(PageState(past, d))
            case .history(let history): .history(PageState(history, d))
            case .settings(let settings): .settings(PageState(settings, d))
            case .incident(let incident): .incident(IncidentState(incident, d))
            case .objection(let objection): .objection(ObjectionState(objection, d))
            case .codes(let codes): .codes(CodesState(codes, d))
            case .heard(let heard): .heard(HeardState(heard, d))
            case .practice(let practice): .practice(PracticeState(practice, d))
            case .own(let own): .own(OwnState(own, d))
            case .drill(let drill): .drill(DrillState(drill, d))
            case .feedback(let feedback): .feedback(FeedbackState(feedback, d))
            case .shadow(let shadow): .shadow(ShadowState(shadow, d))
            }
    }
}

extension DogHeading {
    init(_ card: DogCard, _ d: Drawing) {
        name = card.name
        handler = d.words("ui.dog.handler", ["handler": .plain(card.handler)])
        chip = card.chip
        measure = d.words(card.measure)
        number = d.words("ui.dog.number", ["number": .count(card.number)])
    }
}

extension ButtonState {
    init(_ offer: Offer, _ d: Drawing) {
        id = offer.id
        label = d.words(offer.label)
        weight = Weight(offer.role)
        tap = d.tap(offer.act)
        enabled = offer.allowed
        whyNot = d.words(offer.whyNot)
    }
}

extension PairState {
    init(_ line: StatementLine, _ d: Drawing) {
        label = d.words(line.label)
        value = d.words(line.value)
    }
}
