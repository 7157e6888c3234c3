//! A large yard made from a fixed seed: a sheet of machines, and the log of their readings.

use std::path::Path;

use jiff::civil::date;

/// How many readings each machine has.
pub(crate) const READINGS_EACH: u32 = 20;

/// A repeatable sequence of figures (the 64-bit LCG of Knuth's MMIX).
struct Figures(u64);

impl Figures {
    fn below(&mut self, bound: u32) -> u32 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) % u64::from(bound)) as u32
    }
}

fn day(number: u32) -> String {
    let day =
        date(2024, 9, 1).checked_add(jiff::Span::new().days(i64::from(number))).expect("within the calendar");
    day.strftime("%d/%m/%Y").to_string()
}

/// The sheet of so many machines and the log of their readings, row by row.
pub(crate) fn rows(count: u32) -> (Vec<Vec<String>>, Vec<Vec<String>>) {
    let mut figures = Figures(20_260_302);
    let head = |names: &[&str]| names.iter().map(|name| (*name).to_owned()).collect::<Vec<_>>();
    let mut machines = vec![head(&[
        "Reg No",
        "Frame No",
        "Make",
        "Model",
        "Type",
        "cc",
        "Registered",
        "Sold",
        "Handover",
        "Customer",
        "Phone",
        "Fuel",
        "Oil",
        "MOT expiry",
    ])];
    let mut readings = vec![head(&["Reg No", "Date", "Mileage", "By"])];
    for number in 0..count {
        let mark = format!("AB{:02}{}", 2 + number % 48, letters(number / 48));
        let handed_over = figures.below(520);
        machines.push(vec![
            mark.clone(),
            format!("ZZTEST{number:011}"),
            "Marlow".to_owned(),
            format!("Model {}", number % 40),
            "motorcycle".to_owned(),
            "125".to_owned(),
            day(handed_over),
            day(handed_over),
            day(handed_over),
            format!("Customer {number}"),
            format!("01632 960{:03}", number % 1000),
            if number % 3 == 0 { "E5" } else { "E10" }.to_owned(),
            "10W-40 MA2".to_owned(),
            day(handed_over + 365),
        ]);
        let mut clock = 3;
        for reading in 0..READINGS_EACH {
            clock += figures.below(120);
            readings.push(vec![
                mark.clone(),
                day(handed_over / 2 + reading * 13),
                clock.to_string(),
                "JB".to_owned(),
            ]);
        }
    }
    (machines, readings)
}

fn letters(mut number: u32) -> String {
    const USED: &[u8] = b"ABCDEFGHJKLMNOPRSTUVWXYZ";
    let mut letters = String::new();
    for _ in 0..3 {
        letters.push(char::from(USED[number as usize % USED.len()]));
        number /= USED.len() as u32;
    }
    letters
}

/// Writes a sheet's rows as text.
pub(crate) fn write_text(path: &Path, rows: &[Vec<String>]) {
    let mut writer = csv::Writer::from_path(path).expect("the temporary folder can be written");
    for row in rows {
        writer.write_record(row).expect("the temporary folder can be written");
    }
    writer.flush().expect("the temporary folder can be written");
}
