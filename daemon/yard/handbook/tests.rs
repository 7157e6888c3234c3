//! Handbook sheets, right and wrong, and the pages that machines get of them.

use std::sync::Arc;

use super::*;
use crate::origin::{Origin, SheetName};
use crate::problem::Problem;
use crate::sheets::{Cell, Table};
use crate::units::SpeedUnit;
use crate::yard::MachineRow;

/// A sheet out of CSV text as the shipped files have it: a quoted cell holds commas, and no more quotes.
fn table(file: &str, text: &str) -> Table {
    let name = Arc::new(SheetName { file: file.to_owned(), sheet: None });
    let cells = |line| split(line).map(cell).collect::<Vec<_>>();
    Table::new(name, false, (1..).zip(text.lines().map(cells)))
}

fn split(line: &str) -> impl Iterator<Item = &str> {
    let mut quoted = false;
    line.split(move |letter| {
        quoted ^= letter == '"';
        letter == ',' && !quoted
    })
}

fn cell(text: &str) -> Cell<'_> {
    match text.trim_matches('"') {
        "" => Cell::Blank,
        text => Cell::Text(text),
    }
}

/// The handbook of three sheets, of which nothing is told.
#[track_caller]
fn handbook(models: &str, services: &str, stages: &str) -> Handbook {
    let (handbook, problems) = read(models, services, stages);
    assert_eq!(problems, [], "{problems:#?}");
    handbook
}

fn read(models: &str, services: &str, stages: &str) -> (Handbook, Vec<Problem>) {
    let models = [table("models.csv", models)];
    read_handbook(&models, &[table("service.csv", services)], &[table("running-in.csv", stages)])
}

fn shipped() -> Handbook {
    {
        let [models, services, stages] = SHIPPED_HANDBOOK.map(|(_, text)| text);
        handbook(models, services, stages)
    }
}

/// A machine of a kind and size; an empty text is not known.
fn machine(make: &str, model: &str, kind: Option<MachineKind>, engine_cc: Option<u32>) -> MachineRow {
    let name = Arc::new(SheetName { file: "machines.csv".to_owned(), sheet: None });
    let origin = Origin { name, row: 2, column: 0 };
    let text = |text: &str| (!text.is_empty()).then(|| Entry::new(text.to_owned(), origin.clone()));
    MachineRow {
        make: text(make),
        model: text(model),
        kind: kind.map(|kind| Entry::new(kind, origin.clone())),
        engine_cc: engine_cc.map(|engine_cc| Entry::new(engine_cc, origin.clone())),
        ..MachineRow::default()
    }
}

/// A plan in one line an item: `first service: first at 500 miles, first after 3 months`.
fn plan(page: &HandbookPage) -> Vec<String> {
    fn said<T: ToString>(words: &str, entry: &Option<Entry<T>>) -> Option<String> {
        entry.as_ref().map(|entry| format!("{words} {}", entry.value.to_string()))
    }
    let item = |item: &ServiceItem| {
        let parts = [
            said("first at", &item.first_at),
            said("first after", &item.first_after),
            said("then every", &item.then_every),
            said("then every", &item.then_every_months),
            said("tolerance", &item.tolerance),
            said("tolerance days", &item.tolerance_days),
        ];
        format!("{}: {}", item.item.value, parts.into_iter().flatten().collect::<Vec<_>>().join(", "))
    };
    page.services.iter().map(item).collect()
}

/// Stages in one line each: `first: up to 500 miles or 3 months, 40 mph, bursts 45 mph`.
fn stages(page: &HandbookPage) -> Vec<String> {
    fn said<T: ToString>(entry: &Option<Entry<T>>) -> String {
        entry.as_ref().map_or("-".to_owned(), |entry| entry.value.to_string())
    }
    let stage = |stage: &RunningInStage| {
        let RunningInStage { stage, up_to, up_to_months, top_speed, burst_speed, .. } = stage;
        let (end, months) = (said(up_to), said(up_to_months));
        format!("{}: up to {end} or {months}, {}, bursts {}", stage.value, said(top_speed), said(burst_speed))
    };
    page.stages.iter().map(stage).collect()
}

/// The rules of thumb (common practice, no source): brake fluid every two years, the first service at 500 miles or
/// three months, a 125's stages.
#[test]
fn the_shipped_plan_holds_the_rules_of_thumb_for_every_kind() {
    let handbook = shipped();
    let expected = [
        "first service: first at 500 miles, first after 3 months",
        "annual service: first after 12 months, then every 12 months",
        "brake fluid: first after 24 months, then every 24 months",
    ];
    let kinds = [
        None,
        Some(MachineKind::Motorcycle),
        Some(MachineKind::Moped),
        Some(MachineKind::Scooter),
        Some(MachineKind::ThreeWheeler),
        Some(MachineKind::Car),
    ];
    for kind in kinds {
        let page = handbook.page(&machine("Marlow", "Spruce", kind, None));
        assert_eq!(plan(&page), expected, "{kind:?}");
        assert!(page.services_are_default);
        assert_eq!((page.model, page.model_is_default), (None, false));
    }
}

#[test]
fn the_shipped_stages_are_for_small_machines_only() {
    let handbook = shipped();
    let small = [
        "first: up to 500 miles or 3 months, 40 mph, bursts 45 mph",
        "second: up to 2,500 miles or 6 months, 50 mph, bursts 55 mph",
    ];
    let moped = ["as restricted: up to 500 miles or 3 months, 30 mph, bursts 36 mph"];
    for (kind, engine_cc, expected) in [
        (Some(MachineKind::Motorcycle), Some(125), &small[..]),
        (Some(MachineKind::Scooter), Some(124), &small),
        (Some(MachineKind::Moped), Some(49), &moped),
        (Some(MachineKind::Moped), None, &moped),
        (Some(MachineKind::Motorcycle), Some(126), &[]),
        (Some(MachineKind::Motorcycle), None, &[]),
        (None, Some(125), &small),
        (Some(MachineKind::Car), Some(998), &[]),
    ] {
        let page = handbook.page(&machine("", "", kind, engine_cc));
        assert_eq!(stages(&page), expected, "{kind:?} {engine_cc:?}");
        assert_eq!(page.stages_are_default, !expected.is_empty());
    }
}

/// UN R39, paragraph 5.3: a speedometer shows at most the true speed and a tenth of it and 4 km/h. A moped that
/// goes the 30 mph it is restricted to must be clear of the limit, whatever its speed was read from.
#[test]
fn a_moped_at_its_own_restriction_is_clear_of_its_shipped_limit() {
    let page = shipped().page(&machine("", "", Some(MachineKind::Moped), None));
    let limit = page.stages[0].burst_speed.as_ref().expect("the row has one").value;
    for true_speed in [Speed::of(28, SpeedUnit::MilesAnHour), Speed::of(30, SpeedUnit::MilesAnHour)] {
        let four = Speed::of(4, SpeedUnit::KilometresAnHour).tenth_millimetres_an_hour();
        let most_shown = true_speed.tenth_millimetres_an_hour() * 11 / 10 + four;
        assert!(most_shown < limit.tenth_millimetres_an_hour(), "{true_speed}");
    }
}

const MODELS: &str = "Model,Kind,Engine c.c.,Clock unit,Highest ethanol label,Oil,Tank (litres)
Spruce 125,motorcycle,124.7cc,km,E5,10W-40 MA2,11.5
Marlow Spruce 125,motorcycle,125,miles,E10,10W-40 MA2,12
Kite,moped,,,E5,,
,scooter,,km,E10,,
,,,,E5,,
";

#[test]
fn a_model_is_found_by_its_name_or_make_and_name_whatever_case_and_blanks() {
    let handbook = handbook(MODELS, "", "");
    let fuel = |make: &str, model: &str, kind| {
        let page = handbook.page(&machine(make, model, kind, None));
        let row = page.model.expect("the last default is for all");
        let cell = row.fuel_allowed.expect("every row here has one").origin.cell();
        (cell, page.model_is_default)
    };
    let cell = |name: &str, is_default| (name.to_owned(), is_default);
    assert_eq!(fuel("Osprey", "SPRUCE125", None), cell("E2", false));
    assert_eq!(fuel("Marlow", "spruce  125", None), cell("E3", false));
    assert_eq!(fuel("", "marlow spruce 125", None), cell("E3", false));
    assert_eq!(fuel("Osprey", "Kite 2", Some(MachineKind::Scooter)), cell("E5", true));
    assert_eq!(fuel("Osprey", "Kite 2", None), cell("E6", true));
    assert_eq!(fuel("", "", Some(MachineKind::Moped)), cell("E6", true));
}

#[test]
fn a_models_own_rows_replace_the_defaults_as_a_whole_and_count_as_its_clock_does() {
    let services =
        "model,kind,engine cc,item,first at,first after months,then every,then every months,tolerance,\
                    tolerance days
,,,first service,500 miles,3,,,,
,,,brake fluid,,24,,2 years,,
,scooter,,first service,300 miles,1,,,,
,scooter,125,first service,400,2,,,,
Spruce 125,,,first service,1000,1,,,100,14
Spruce 125,,,chain,500 miles,,500,,,
";
    let stage_rows = "model,kind,engine cc,stage,up to,up to months,top speed,burst speed
Spruce 125,,,2,1600 km,,80,90 km/h
Spruce 125,,,1,1000,1,65,
";
    let handbook = handbook(MODELS, services, stage_rows);
    let own = handbook.page(&machine("", "Spruce 125", None, None));
    let kilometres = |count| Distance::of(count, DistanceUnit::Kilometres);
    assert!(!own.services_are_default && !own.stages_are_default);
    let items: Vec<_> = own
        .services
        .iter()
        .map(|item| (item.item.value.as_str(), item.first_at.as_ref().map(|at| at.value)))
        .collect();
    let chain_at = Distance::of(500, DistanceUnit::Miles);
    assert_eq!(items, [("first service", Some(kilometres(1_000))), ("chain", Some(chain_at))]);
    assert_eq!(own.services[1].then_every.as_ref().map(|every| every.value), Some(kilometres(500)));
    assert_eq!(own.services[0].tolerance.as_ref().map(|tolerance| tolerance.value), Some(kilometres(100)));
    assert_eq!(own.services[0].tolerance_days.as_ref().map(|days| days.value), Some(Days(14)));
    let ends: Vec<_> = own
        .stages
        .iter()
        .map(|stage| {
            let top = stage.top_speed.as_ref().map(|speed| speed.value.shown_in(SpeedUnit::KilometresAnHour));
            (stage.stage.value.as_str(), top.unwrap_or_default())
        })
        .collect();
    assert_eq!(ends, [("1", "65 km/h".to_owned()), ("2", "80 km/h".to_owned())]);

    // Defaults: the nearest of each item.
    for (kind, engine_cc, first) in [
        (Some(MachineKind::Scooter), Some(125), "first service: first at 400 miles, first after 2 months"),
        (Some(MachineKind::Scooter), Some(300), "first service: first at 300 miles, first after 1 month"),
        (Some(MachineKind::Scooter), None, "first service: first at 300 miles, first after 1 month"),
        (Some(MachineKind::Motorcycle), Some(125), "first service: first at 500 miles, first after 3 months"),
        (None, None, "first service: first at 500 miles, first after 3 months"),
    ] {
        let page = handbook.page(&machine("", "Other", kind, engine_cc));
        let mut expected = vec!["brake fluid: first after 24 months, then every 24 months", first];
        expected.sort_unstable();
        let mut found = plan(&page);
        found.sort_unstable();
        assert_eq!(found, expected, "{kind:?} {engine_cc:?}");
        assert!(page.services_are_default);
    }
}

#[test]
fn kind_and_size_of_the_models_row_decide_where_the_machine_does_not_give_them() {
    let stage_rows = "kind,engine cc,stage,up to,top speed
motorcycle,125,small,500 miles,40 mph
motorcycle,,large,600 miles,60 mph
moped,,moped,500 miles,30 mph
";
    let handbook = handbook(MODELS, "", stage_rows);
    let stage = |machine: &MachineRow| handbook.page(machine).stages[0].stage.value.clone();
    assert_eq!(stage(&machine("", "Spruce 125", None, None)), "small");
    assert_eq!(stage(&machine("", "Spruce 125", None, Some(250))), "large");
    assert_eq!(stage(&machine("", "Kite", None, None)), "moped");
    assert_eq!(stage(&machine("", "Kite", Some(MachineKind::Motorcycle), None)), "large");
}

#[test]
fn whatever_is_wrong_is_told_with_its_cell_and_only_sound_rows_of_a_plan_count() {
    let (handbook, problems) = read(
        "model,kind,clock unit,colour
Spruce,spaceship,miles,red
Kite,moped,leagues,blue
KITE,moped,miles,blue
",
        "model,item,first at,first after months,then every,then every months
Spruce,first service,5OO miles,3,,
Spruce,,500 miles,3,,
Spruce,annual service,,,,
Spruce,chain,,,0,
Spruce,brake fluid,,24,,24
",
        "stage,up to,top speed,burst speed
first,500 miles,45 mph,40 mph
second,2500 miles,fast,
",
    );
    let told: Vec<String> = problems
        .iter()
        .map(|problem| format!("{}: `{}`: {} {}", problem.place, problem.value, problem.what, problem.help))
        .collect();
    let expected = [
        "models.csv, D1: `colour`: no column of the handbook has this header The columns are model, kind, engine cc, \
         clock unit, highest ethanol label, oil, tank litres, note.",
        "models.csv, B2: `spaceship`: the `kind` is no kind of machine that is known Write motorcycle, moped, scooter, \
         three-wheeler or car. Until then this row is left out.",
        "models.csv, C3: `leagues`: the `clock unit` is no unit of a clock Write miles or km.",
        "models.csv, A4: `KITE`: this row is about the same as the one at models.csv, A3 Take one of the two out. Until \
         then this row is left out.",
        "service.csv, C2: `5OO miles`: the `first at` is not a distance Write the figure, with miles or km behind it where \
         the column mixes them. Until then this row is left out.",
        "service.csv, B3: ``: this row names no item of the plan Write what is done, such as first service. Until then \
         this row is left out.",
        "service.csv, B4: `annual service`: this row does not say when the item is due Write a distance (first at, then \
         every) or months (first after months, then every months). Until then this row is left out.",
        "service.csv, B5: `chain`: this item would be due again at once Write how far or how many months lie between two \
         times, or leave the cell blank. Until then this row is left out.",
        "running-in.csv, D2: `40 mph`: the short burst is slower than the top speed Write the speed of a short burst, \
         which is the higher one, or leave the cell blank. Until then this row is left out.",
        "running-in.csv, C3: `fast`: the `top speed` is not a speed Write the figure, with mph or km/h behind it. Until \
         then this row is left out.",
    ];
    assert_eq!(told, expected);
    assert_eq!((handbook.models.len(), handbook.services.len(), handbook.stages.len()), (1, 1, 0));
}

#[test]
fn a_sheet_without_headers_is_told_and_one_without_rows_is_not() {
    let (handbook, problems) = read("", "Spruce 125,500,3\n", "model,stage\n");
    assert_eq!(handbook, Handbook::default());
    let told: Vec<String> = problems.iter().map(ToString::to_string).collect();
    let expected = "error: the first row names no column of the handbook\n  --> service.csv\nhelp: Write the headers into \
                    the first row: model, kind, engine cc, item, first at, first after months, then every, then every \
                    months, tolerance, tolerance days, note.";
    assert_eq!(told, [expected]);
}

#[test]
fn a_remark_on_a_line_of_its_own_is_no_default() {
    let handbook = handbook(
        "model,kind,oil,note\n,,,ask the importer\n,moped,,later\nKite,,,nothing known yet\n",
        "",
        "",
    );
    let models: Vec<String> = handbook
        .models
        .iter()
        .filter_map(|row| row.speaks_of.model.as_ref().map(|model| model.value.clone()))
        .collect();
    assert_eq!((handbook.models.len(), models), (1, vec!["Kite".to_owned()]));
}

#[test]
fn a_header_may_carry_the_unit_of_its_column() {
    let stage_rows = "Stage,Up To (km),Top-Speed (km/h)\n1,1000,65\n";
    let handbook = handbook("", "", stage_rows);
    let stage = &handbook.stages[0];
    assert_eq!(
        stage.up_to.as_ref().map(|end| end.value),
        Some(Distance::of(1_000, DistanceUnit::Kilometres))
    );
    let top = Speed::of(65, SpeedUnit::KilometresAnHour);
    assert_eq!(stage.top_speed.as_ref().map(|speed| speed.value), Some(top));
}

#[test]
fn every_shipped_row_says_that_it_has_no_source() {
    for (file, text) in &SHIPPED_HANDBOOK[1..] {
        let table = table(file, text);
        assert_eq!(table.row(0).cells().next_back(), Some(Cell::Text("note")));
        for row in table.rows().part(1..).iter() {
            let note = row.cells().next_back().map(|cell| cell.shown()).unwrap_or_default();
            assert!(note.starts_with("common practice, no source"), "{file} {}: {note}", row.number);
        }
    }
    assert_eq!(
        SHIPPED_HANDBOOK[0].1.lines().count(),
        1,
        "what a model asks for stands in its own handbook only"
    );
}
