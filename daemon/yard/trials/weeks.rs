//! Shops by chance, one export after another: what a week's work changes is no change of the sheet, and what befalls its
//! columns is said, however few machines there are. What is ordinary in a week is our decision.

use std::collections::{BTreeMap, BTreeSet};

use jiff::ToSpan;
use jiff::civil::{Date, date};

use super::*;
use crate::units::Days;
use crate::units::dice::Dice;
use crate::yard::{Compared, Lasts, Terms, compare};

const HEADERS: [&str; 15] = [
    "Reg",
    "Frame no",
    "Stock no",
    "Make",
    "Model",
    "Customer",
    "Phone",
    "Registered",
    "Handover",
    "MOT due",
    "Mileage",
    "Last service",
    "Last service miles",
    "PDI",
    "Notes",
];
const TODAY: Date = date(2026, 3, 2);
const STOCK: usize = 2;
const MODEL: usize = 4;
const CUSTOMER: usize = 5;
const PHONE: usize = 6;
const HANDOVER: usize = 8;
const MOT: usize = 9;
const CLOCK: usize = 10;

/// Our invented machines and people.
const MODELS: [&str; 6] = ["Thimble 50", "Wend 125", "Fell 300", "Tarn 650", "Scree 900", "Beck 125"];
const NAMES: [&str; 8] = ["Ashe", "Brook", "Carr", "Dale", "Firth", "Garth", "Howe", "Ings"];
const FIRST: [&str; 6] = ["Ann", "Bob", "Cat", "Dan", "Eve", "Fay"];

#[derive(Clone)]
struct Bike {
    mark: String,
    frame: String,
    stock: String,
    model: &'static str,
    customer: String,
    phone: String,
    registered: Date,
    handover: Option<Date>,
    mot: Option<Date>,
    clock: u64,
    serviced: Option<(Date, u64)>,
    checked: bool,
    note: String,
}

/// A shop with its dice.
struct Shop {
    dice: Dice,
    today: Date,
    bikes: Vec<Bike>,
    next: u64,
}

impl Shop {
    fn of(seed: u64, size: u64) -> Shop {
        let mut shop =
            Shop { dice: Dice::of(seed), today: date(2026, 3, 2), bikes: Vec::new(), next: seed % 50 };
        for _ in 0..size {
            shop.arrives();
        }
        shop
    }

    fn day(&mut self, ahead: i64, within: u64) -> Date {
        Days(ahead + self.dice.below(within) as i64).after(self.today).unwrap()
    }

    fn person(&mut self) -> (String, String) {
        let pick = |dice: &mut Dice, of: &[&str]| of[dice.below(of.len() as u64) as usize].to_owned();
        let name = format!("{} {}", pick(&mut self.dice, &FIRST), pick(&mut self.dice, &NAMES));
        (name, format!("07700 900{:03}", self.dice.below(1_000)))
    }

    fn arrives(&mut self) {
        self.next += 1;
        let number = self.next;
        let is_sold = self.dice.once_in(2);
        let (customer, phone) = if is_sold { self.person() } else { (String::new(), String::new()) };
        let registered = self.day(-1_500, 1_400);
        let handover = is_sold.then(|| self.day(-60, 90));
        let clock = if self.dice.once_in(2) { self.dice.below(12) } else { self.dice.below(20_000) };
        let serviced = (clock > 600).then(|| (self.day(-300, 290), clock / 2));
        let mot = self.dice.once_in(2).then(|| self.day(-20, 380));
        let checked = self.dice.once_in(2);
        self.bikes.push(Bike {
            mark: format!("AB{:02} C{}E", number % 100, char::from(b'A' + (number / 100 % 26) as u8)),
            frame: format!("ZZZTK{number:05}X{:06}", number * 7919 % 1_000_000),
            stock: format!("S{:04}", 100 + number),
            model: MODELS[self.dice.below(6) as usize],
            customer,
            phone,
            registered,
            handover,
            mot,
            clock,
            serviced,
            checked,
            note: String::new(),
        });
    }

    /// What a week brings: rides, services, MOTs, handovers put off, called off or exchanged, sales, arrivals, slips put
    /// right, remarks.
    fn week(&mut self) {
        self.today = Days(7).after(self.today).unwrap();
        for place in 0..self.bikes.len() {
            let mut bike = self.bikes[place].clone();
            if self.dice.once_in(2) {
                bike.clock += self.dice.below(if bike.clock < 20 { 8 } else { 400 });
            }
            if self.dice.once_in(12) {
                bike.serviced = Some((self.day(-6, 7), bike.clock));
            }
            if bike.mot.is_some_and(|mot| mot < self.today) && self.dice.once_in(2) {
                bike.mot = Some(self.day(360, 12));
            }
            if bike.handover.is_some_and(|day| day > self.today) && self.dice.once_in(3) {
                let within = if self.dice.once_in(8) { 90 } else { 25 };
                bike.handover = Some(self.day(3, within));
            }
            if bike.customer.is_empty() && self.dice.once_in(10) {
                (bike.customer, bike.phone) = self.person();
                bike.handover = Some(self.day(3, 20));
            } else if self.dice.once_in(40) {
                bike.customer = format!("{}e", bike.customer);
            } else if self.dice.once_in(80) {
                (bike.customer, bike.phone) = self.person();
            } else if self.dice.once_in(60) {
                bike.phone = self.person().1;
            }
            bike.checked |= self.dice.once_in(8);
            if self.dice.once_in(15) {
                bike.note = format!("rung on {}", self.today);
            }
            if self.dice.once_in(80) {
                bike.handover = None;
            }
            if self.dice.once_in(80) {
                bike.stock.clear();
            }
            self.bikes[place] = bike;
        }
        if self.dice.once_in(4) {
            self.two_customers_exchange_their_days();
        }
        if self.bikes.len() > 2 && self.dice.once_in(3) {
            let gone = self.dice.below(self.bikes.len() as u64) as usize;
            self.bikes.remove(gone);
        }
        if self.dice.once_in(3) {
            self.arrives();
        }
    }

    fn two_customers_exchange_their_days(&mut self) {
        let is_to_come = |place: &usize| self.bikes[*place].handover.is_some_and(|day| day > self.today);
        let to_come: Vec<usize> = (0..self.bikes.len()).filter(is_to_come).collect();
        if let [one, other, ..] = to_come[..] {
            let day = self.bikes[one].handover;
            self.bikes[one].handover = self.bikes[other].handover;
            self.bikes[other].handover = day;
        }
    }

    fn rows(&self) -> Vec<Vec<String>> {
        let written = |day: Date| day.strftime("%d/%m/%Y").to_string();
        let row = |bike: &Bike| {
            let (serviced, at) = bike.serviced.map_or((None, None), |(day, at)| (Some(day), Some(at)));
            vec![
                bike.mark.clone(),
                bike.frame.clone(),
                bike.stock.clone(),
                "Wrenfold".to_owned(),
                bike.model.to_owned(),
                bike.customer.clone(),
                bike.phone.clone(),
                written(bike.registered),
                bike.handover.map(written).unwrap_or_default(),
                bike.mot.map(written).unwrap_or_default(),
                bike.clock.to_string(),
                serviced.map(written).unwrap_or_default(),
                at.map(|at| at.to_string()).unwrap_or_default(),
                if bike.checked { "ok" } else { "" }.to_owned(),
                bike.note.clone(),
            ]
        };
        self.bikes.iter().map(row).collect()
    }
}

/// The sheet of these rows with the columns that are kept.
fn sheet(headers: &[&str], rows: &[Vec<String>], kept: &[usize]) -> Table {
    let line =
        |cells: &dyn Fn(usize) -> String| kept.iter().map(|at| cells(*at)).collect::<Vec<_>>().join("|");
    let mut lines = vec![line(&|at| headers[at].to_owned())];
    lines.extend(rows.iter().map(|row| line(&|at| row[at].clone())));
    table("machines.csv", &lines.join("\n"))
}

fn compared(before: &Table, now: &Table, is_agreed: bool, days_between: i64) -> Compared {
    let fields = [
        "mark",
        "frame number",
        "stock number",
        "make",
        "model",
        "customer",
        "telephone",
        "registered",
        "handover",
        "mot expiry",
        "clock",
        "last service day",
        "last service clock",
        "pre-delivery inspection",
        "note",
    ];
    let headers: BTreeSet<String> = before.rows().get(0).unwrap().cells().map(|cell| cell.shown()).collect();
    let pairs: Vec<(&str, &str)> =
        HEADERS.into_iter().zip(fields).filter(|(header, _)| headers.contains(*header)).collect();
    let agreed = agreement("machine", &pairs);
    let none = BTreeMap::new();
    let terms = Terms {
        agreed: is_agreed.then_some(&agreed),
        shop_order: DateOrder::DayFirst,
        clock_unit: DistanceUnit::Miles,
        known: &none,
        before: TODAY.saturating_sub(days_between.days()),
        today: TODAY,
        heeds_right: true,
        is_kept: false,
    };
    compare(before, now, &terms)
}

/// What is said, each with its place.
fn said_of(compared: &Compared) -> Vec<String> {
    let said = compared.changes.iter().filter(|change| change.lasts != Lasts::Unsaid);
    said.map(|change| change.problem.what.clone()).collect()
}

/// All columns; without the frame and stock numbers; the mark, model, customer, handover and clock alone.
const SHEETS: [&[usize]; 3] = [
    &[0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14],
    &[0, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14],
    &[0, 4, 5, 8, 10],
];

/// Runs so many shops of two to twelve machines through twenty weeks with each sheet.
fn ordinary_weeks(shops: std::ops::Range<u64>) {
    for seed in shops {
        for (place, kept) in SHEETS.into_iter().enumerate() {
            let mut shop = Shop::of(seed, 2 + seed % 11);
            let mut before = sheet(&HEADERS, &shop.rows(), kept);
            for week in 0..20 {
                shop.week();
                let now = sheet(&HEADERS, &shop.rows(), kept);
                let said = said_of(&compared(&before, &now, true, 7));
                assert_eq!(said, [] as [String; 0], "shop {seed}, sheet {place}, week {week}");
                before = now;
            }
        }
    }
}

#[test]
fn of_hundreds_of_ordinary_weeks_none_raises_an_alarm() {
    ordinary_weeks(0..6);
}

#[test]
#[ignore = "thousands of weeks take minutes"]
fn of_thousands_of_ordinary_weeks_none_raises_an_alarm() {
    ordinary_weeks(6..120);
}

/// What may befall a sheet, and the words that say it.
type Mishap = (&'static str, fn(&mut Vec<Vec<String>>, &mut [&'static str; 15]));

const MISHAPS: [Mishap; 9] = [
    ("as if their headers had been exchanged", |_, headers| headers.swap(MODEL, CUSTOMER)),
    ("as if their headers had been exchanged", |_, headers| headers.swap(CUSTOMER, PHONE)),
    ("as if their headers had been exchanged", |_, headers| headers.swap(HANDOVER, MOT)),
    ("as after a sort without the rest", |rows, _| {
        let marks: Vec<String> = rows.iter().map(|row| row[0].clone()).collect();
        let count = marks.len();
        for (place, row) in rows.iter_mut().enumerate() {
            row[0] = marks[(place + 1) % count].clone();
        }
    }),
    ("rows have another customer", |rows, _| {
        for (place, row) in rows.iter_mut().enumerate() {
            row[CUSTOMER] = format!("{} Sallow", ["Pip", "Zoe"][place % 2]);
        }
    }),
    ("rows have another day in column", |rows, _| {
        for row in rows.iter_mut() {
            row[HANDOVER] = row[HANDOVER].replace("/2026", "/2024");
        }
    }),
    ("it is not read", |rows, _| {
        for row in rows.iter_mut() {
            row[CLOCK] = (row[CLOCK].parse::<u64>().unwrap() / 3).to_string();
        }
    }),
    ("as after a sort without the rest", |rows, _| {
        let days: Vec<String> = rows.iter().map(|row| row[MOT].clone()).collect();
        for (place, row) in rows.iter_mut().enumerate() {
            row[MOT] = days[(place + 1) % days.len()].clone();
        }
    }),
    ("in which something stood", |rows, _| {
        for row in rows.iter_mut() {
            row[STOCK].clear();
        }
    }),
];

/// The column that a mishap must have.
fn column_of_mishap(number: usize) -> usize {
    match number {
        1 | 2 => PHONE,
        7 => MOT,
        8 => STOCK,
        _ => 0,
    }
}

#[test]
fn what_befalls_a_sheet_is_said_of_two_machines_as_of_twelve() {
    for (number, (words, befalls)) in MISHAPS.into_iter().enumerate() {
        for size in [2, 3, 4, 5, 6, 12] {
            for kept in SHEETS.into_iter().filter(|kept| kept.contains(&column_of_mishap(number))) {
                let mut shop = Shop::of(size, size);
                for (place, bike) in shop.bikes.iter_mut().enumerate() {
                    bike.customer = format!("{} {}", FIRST[place % 6], NAMES[place % 8]);
                    bike.phone = format!("07700 9001{place:02}");
                    bike.model = MODELS[place % 6];
                    bike.handover = Some(date(2026, 1, 13 + place as i8));
                    bike.mot = Some(date(2027, 5, 14 + place as i8));
                    bike.clock = 2_000 + 37 * place as u64;
                }
                let rows = shop.rows();
                let before = sheet(&HEADERS, &rows, kept);
                let (mut rows, mut headers) = (rows, HEADERS);
                befalls(&mut rows, &mut headers);
                let compared = compared(&before, &sheet(&headers, &rows, kept), true, 1);
                let said = said_of(&compared);
                let case = format!("mishap {number}, {size} machines, {} columns: {said:#?}", kept.len());
                assert!(said.len() == 1 && said[0].contains(words), "{case}");
            }
        }
    }
}
