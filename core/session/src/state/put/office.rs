//! What comes from the office: its roster, and what it says of a session's other phones.

use standsquare_sync::beside::{Paired, Told, ToldDog};
use standsquare_sync::roster::{Dog, EarlierMeasure, Hoop, League, OfficeCard, Person, Roster};

use super::{items, put};

items!(ToldDog, Paired, Dog, EarlierMeasure, Hoop, Person);

put!(ToldDog {
    device_key,
    journal,
    visit,
    chip,
    came,
    statement,
    settles,
});
put!(Paired {
    device_key,
    journal
});
put!(Told {
    office_key,
    session,
    at_ms,
    phones,
    dogs,
    forked,
});

put!(League { id, name });
put!(OfficeCard { name, key, phones });
put!(Person {
    id,
    name,
    number,
    role
});
put!(Hoop {
    id,
    gauge,
    serial,
    checked
});
put!(EarlierMeasure {
    day,
    category,
    measure
});
put!(Dog {
    id,
    name,
    handler,
    chip,
    born,
    earlier,
    household_of
});
put!(Roster {
    format,
    demo,
    league,
    office,
    pack,
    venues,
    people,
    hoops,
    dogs
});
