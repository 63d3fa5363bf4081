//! The facts' fields in the order of their numbers, by which they are read. A new fact is a
//! line here too: one without it is refused, and the tests say so.

use standsquare_plain::{indexed, tagged};

use super::{Fact, Found, Harm, Whom};

indexed!(Found { 0 Agrees, 1 Differs, 2 Missing });
indexed!(Harm { 0 Bite, 1 Fall });
indexed!(Whom { 0 Measurer, 1 Handler, 2 Dog, 3 Other });
tagged!(Fact {
    1 JournalBegun { device_key, alg, journal, software, hash_alg }
    2 RosterTaken { roster, pack, league }
    3 SessionBegun { session, roster, pack, offset_min, day }
    4 VenueSet { name }
    5 LevelRead { x_mdeg, y_mdeg }
    6 LevelDropped {}
    7 SurfaceAccepted {}
    8 HoopLooked { hoop, good }
    9 HoopsAccepted {}
    10 Seated { person, number }
    11 Unseated { person }
    12 KeyMade { person, key, alg }
    13 QueueOpened {}
    14 DogCalled { visit, dog, subject, commitment }
    15 BookLooked { visit, item, found }
    16 BookAccepted { visit, measure }
    17 HandlerAnswered { visit, question, yes }
    18 HandlerAccepted { visit }
    19 ChipRead { visit, raw, form, number, verified }
    20 ChipTyped { visit, number }
    21 ChipAccepted { visit, proof }
    22 ChipAgain { visit }
    23 Settled { visit }
    24 StoodSquare { visit }
    25 HoopChosen { visit, hoop }
    26 Placed { visit, hoop, seen }
    27 PlacingTakenBack { visit }
    28 StopAsked { visit }
    29 StopLeft { visit }
    30 Stopped { visit, reason }
    31 Stated { statement }
    32 Signed { visit, person, alg, head, signature }
    33 Disagreed { visit, person }
    34 PinRefused { person }
    35 BookWritten { visit }
    36 HandlerTold { visit }
    37 CloseReviewed { open }
    38 SessionClosed { not_seen }
    39 SessionLeft {}
    40 Sealed { why, alg, head, signature }
    41 Acknowledged { frames, receipt }
    42 ScanPassed { visit }
    43 Salvaged { set_aside, file, reason }
    44 ReadersOpened { open }
    45 ReaderChosen { reader, name, carrier }
    46 ReaderPaired { reader, name, carrier, profile, number }
    47 Parked { visit }
    48 Resumed { visit }
    49 CorrectionAsked { visit }
    50 CorrectionChosen { visit, what }
    51 CorrectionLeft { visit }
    52 CorrectionStated { correction }
    53 CorrectionSigned { visit, person, alg, head, signature }
    54 SignedOnPaper { visit, person, paper }
    55 SteppedAway { person, away }
    56 Recused { visit, person }
    57 HandOver { visit, to }
    58 TakenOver { visit, person }
    59 Newcomer { visit, dog, chip }
    60 NewcomerDescribed { visit, born, category, measured, name }
    61 Incident { visit, what, whom, words }
    62 Logged { frames, checkpoint }
    63 ClockDiffers { office_ms, ahead_ms }
    64 Enrolled { body, address, office_key }
    65 EditionTaken { number, digest }
    66 Paired { device_key, journal, session }
    67 DogsHeard { device_key, journal, list }
    68 Unlocked { person, alg, head, signature }
    69 Confirmed { visit, person, head }
    70 Locked {}
    71 ListStated { list }
    72 ListSigned { person, alg, head, signature }
    73 ListOnPaper { person, paper }
    74 ListLeft {}
    75 KeyNoticed { notice }
    76 PersonalErased { subjects, kept_days }
    77 CopyGiven { to_seq, in_codes }
    78 TraineeWatches { person, here }
    79 Shadowed { visit, person, category }
    80 DrillBegun { person, gauge, placings, reach_um, step_um, seed }
    81 DrillAnswered { seen }
    82 DrillLeft {}
    83 PracticeSigned { person, record, alg, signature }
    84 PageOpened { page, person }
    85 MoveAsked { visit }
    86 MoveRead { visit, dog, raw, form, number, verified }
    87 PlacingsMoved { from, to }
    88 Objected { visit, words, commitment }
    89 SignedElsewhere { visit, person, alg, head, signature, key, device_key }
    90 SignedForOther { device_key, person, statement, alg, head, signature }
    91 HeardAnswered { visit, journal, goes_on }
    92 PairingShown { session }
    93 BesideTold { session, answer }
    94 SettleAsked { visit, device_key, journal, theirs, ours, stands_here, came }
    95 PhoneOwner { person, on }
    96 OpenedByOwner { person }
    97 SessionTakenUp { session, day }
});
