//! Papers of invented contents, to look at and to hold the two forms against.

use paper::{Block, Column, Headline, Paper, Part, Picture, Row, Run, Table, Text, Weight, plain, strong};

/// A paper with everything on it, as a close-out would be.
pub fn close_out() -> Paper {
    Paper {
        title: "Close-out of larkspur-row-3".to_owned(),
        footer: format!("Record {HASH}. Invented, for looking at."),
        standing: Headline { says: "DOES NOT COMPLY".to_owned(), weight: Weight::Stop },
        parts: vec![owner(), settings(300), curves(), approvals(), cautions(), signatures()],
    }
}

/// The hash of nothing in particular.
pub const HASH: &str = "9f2c41d07be35a8866f01c3e94d27ab05d18ce7740b39f6a21c58e03d4f7b916";

fn part(title: &str, starts_page: bool, blocks: Vec<Block>) -> Part {
    Part { title: title.to_owned(), starts_page, blocks }
}

fn column(title: &str, share: u16) -> Column {
    Column { title: title.to_owned(), share }
}

fn owner() -> Part {
    let fact = |name: &str, what: Text| (name.to_owned(), what);
    part(
        "For the owner",
        false,
        vec![
            Block::Words(vec![
                Run::Plain("Your inverter was set on 25 November 2026. ".to_owned()),
                Run::Strong("One of its settings is not as your network asks: ".to_owned()),
                Run::Plain("it must stop feeding in when the voltage stays above 258 V for ten minutes, and it is set to 262 V. Please do not switch it on until the installer has been back.".to_owned()),
            ]),
            Block::Notice(
                Weight::Stop,
                "Do not use it before this is mended".to_owned(),
                vec![
                    vec![Run::Strong("Sustained overvoltage (10-minute average): ".to_owned()), Run::Plain("set to 262 V, limit 258 V. It protects less than required.".to_owned())],
                    plain("With storage, backup circuits stay live when the supply is opened: prove dead before touching."),
                ],
            ),
            Block::Facts(vec![
                fact("Connection point", vec![Run::Code("QB-0047-1193-20".to_owned())]),
                fact("Site", plain("Larkspur Row 3, Quillbrook; Λευκάδα, Кирова, Nguyễn Thị Ánh")),
                fact("Inverter", plain("Tallow 5000, serial 0042-7781-A, firmware 4.18")),
                fact("Required by", plain("AS/NZS 4777.2:2020 with amendment 2, region Australia A; Quillbrook 3.0.0, 1 July 2026")),
                fact("Record", vec![Run::Code(HASH.to_owned())]),
            ]),
            Block::Heading("What was done".to_owned()),
            Block::List(vec![
                plain("The region was selected, and eleven settings were entered."),
                plain("Phase shift of the sensor: Δφ = −12°, within ± 15°; temperature 41 °C; the limit is ≤ 5 kW → held at 4.9 kW."),
                vec![Run::Plain("Checked with the tool's record, of which the hash is ".to_owned()), Run::Code(HASH.to_owned()), Run::Plain(".".to_owned())],
            ]),
            Block::Notice(Weight::Calm, "How sure the figures are".to_owned(), vec![plain("Agrees with unverified figures: the office has not yet read them in its copy of the standard.")]),
        ],
    )
}

fn settings(rows: usize) -> Part {
    let names = [
        "Overvoltage 1",
        "Overvoltage 2",
        "Undervoltage 1",
        "Overfrequency 1",
        "Sustained overvoltage (10-minute average)",
        "Reconnection delay",
    ];
    let places = [[265, 1], [275, 2], [180, 10], [52, 1], [258, 600], [253, 60]];
    let row = |n: usize| {
        let ([limit, seconds], name) = (places[n % 6], names[n % 6]);
        let cells = vec![
            plain(format!("{name}, {n}")),
            plain(format!("{limit} V, {seconds} s")),
            plain(format!("{} V", limit - 3)),
            plain(if n % 7 == 4 { "" } else { "complies" }),
            plain("AS/NZS 4777.2:2020, table 4.1 (from memory)"),
        ];
        if n % 97 == 4 {
            let mut cells = cells;
            cells[2] = plain("262 V");
            cells[3] = strong("4 V too high; protects less than required");
            return Row::Marked(cells);
        }
        Row::Cells(cells)
    };
    let mut all = Vec::new();
    for n in 0..rows {
        if n % 40 == 0 {
            all.push(Row::Group(["To select", "To enter", "To verify only"][n / 40 % 3].to_owned()));
        }
        all.push(row(n));
    }
    let table = Table {
        caption: "The settings, what is required of each and what was left".to_owned(),
        columns: vec![
            column("Setting", 30),
            column("Required setting", 18),
            column("As left", 12),
            column("Verdict", 20),
            column("Source", 26),
        ],
        rows: all,
    };
    part("Settings", true, vec![Block::Words(plain("Each setting with what is required of it.")), Block::Table(table)])
}

/// A picture of the fixtures, as it is drawn by the program.
pub fn picture(name: &str, svg: &str) -> Picture {
    let tree = roxmltree::Document::parse(svg).unwrap();
    let words =
        |tag: &str| tree.descendants().find(|node| node.tag_name().name() == tag).and_then(|node| node.text()).unwrap_or(name).to_owned();
    Picture { title: words("title"), description: words("desc"), svg: svg.to_owned() }
}

/// Every kind of picture that the program draws: `curve`, `trip-map`, `scenario`, `events`.
pub const PICTURES: [(&str, &str); 14] = [
    ("volt-watt", include_str!("../../../../docs/volt-watt.svg")),
    ("volt-var", include_str!("../../../../tests/figures/volt-var.svg")),
    ("volt-watt of three sites", include_str!("../pictures/volt-watt-of-three-sites.svg")),
    ("volt-watt within tolerance", include_str!("../pictures/volt-watt-within-tolerance.svg")),
    ("trip map", include_str!("../pictures/trip-map.svg")),
    ("trip map with a slope", include_str!("../pictures/trip-map-with-a-slope.svg")),
    ("noon creep", include_str!("../../../../docs/noon-creep.svg")),
    ("timeline", include_str!("../../../../tests/figures/timeline.svg")),
    ("log with a gap", include_str!("../pictures/log-with-a-gap.svg")),
    ("generator drift", include_str!("../pictures/generator-drift.svg")),
    ("relay", include_str!("../pictures/relay.svg")),
    ("loose neutral", include_str!("../pictures/loose-neutral.svg")),
    ("ride-through", include_str!("../pictures/ride-through.svg")),
    ("own scenario", include_str!("../pictures/own-scenario.svg")),
];

fn curves() -> Part {
    let of = |n: usize| Block::Picture(picture(PICTURES[n].0, PICTURES[n].1));
    part("Pictures", true, vec![Block::Words(plain("How it responds, and a day of its log.")), of(0), of(4), of(6), of(2)])
}

fn approvals() -> Part {
    let table = Table {
        caption: "Differences from the base standard".to_owned(),
        columns: vec![column("What", 20), column("Base standard", 20), column("Here", 20), column("By whom", 30)],
        rows: Vec::new(),
    };
    let tests = Table {
        caption: "Tests on site".to_owned(),
        columns: vec![column("Test", 30), column("Measured", 15), column("Asked", 15), column("Verdict", 15), column("Instrument", 25)],
        rows: vec![
            Row::Cells(vec![
                plain("Reconnection delay"),
                plain("52 s"),
                plain("60 s"),
                strong("failed"),
                plain("Merrow 21, calibrated 2026-03-02"),
            ]),
            Row::Cells(vec![plain("Anti-islanding"), plain("1.7 s by hand"), plain("2 s"), plain("not proven"), plain("Merrow 21")]),
            Row::Cells(vec![plain("Export limit"), plain(""), plain("5 kW"), plain(""), plain("")]),
        ],
    };
    part(
        "Differences, approvals and tests",
        false,
        vec![
            Block::Heading("Differences from the base standard".to_owned()),
            Block::Table(table),
            Block::Heading("Tests".to_owned()),
            Block::Table(tests),
            Block::Notice(
                Weight::Mind,
                "Missing".to_owned(),
                vec![plain("No photo proves the export limit."), plain("The certificate of the instrument has ended.")],
            ),
        ],
    )
}

fn cautions() -> Part {
    let words = "With storage and backup, opening the supply leaves backup circuits live. Test for ceasing at the grid terminals, prove dead before touching, and name every source of supply. ";
    part(
        "Cautions",
        false,
        vec![Block::Notice(
            Weight::Mind,
            "Before any work".to_owned(),
            vec![plain(words.repeat(2)), plain(words), plain("Local codes, the network operator and licensed practice come first.")],
        )],
    )
}

fn signatures() -> Part {
    part(
        "Signatures",
        false,
        vec![Block::ToSign(vec![
            "Installer: name, licence, date".to_owned(),
            "Owner: name, date".to_owned(),
            "For the office: name, date".to_owned(),
        ])],
    )
}

/// A paper with each kind of picture, and a standing of many words.
#[allow(dead_code, reason = "only to look at")]
pub fn pictures() -> Paper {
    let blocks = PICTURES.iter().map(|(name, svg)| Block::Picture(picture(name, svg))).collect();
    Paper {
        title: "Every kind of picture, for whoever wants to see how they come out on paper and why the title of this one is long"
            .to_owned(),
        footer: "Invented, for looking at.".to_owned(),
        standing: Headline {
            says: "NOT PROVEN: 2 settings were not shown, 1 test is still to be done; training, not for site use".to_owned(),
            weight: Weight::Mind,
        },
        parts: vec![part("Pictures", false, blocks)],
    }
}

/// A paper for an office: what its sites come to.
#[allow(dead_code, reason = "only to look at")]
pub fn roll_up() -> Paper {
    let towns = ["Larkspur Row 3", "Kiln Row 19", "Tannery Lane 2", "Osier Bank 27", "Twin Oaks Road 18", "Plumtree Rise 6"];
    let row = |n: usize| {
        let site = format!("{}, unit {}", towns[n % 6], n / 6 + 1);
        let verdict = ["complies", "agrees with unverified figures", "not proven: no photo of the export limit", "complies"][n % 4];
        let cells = vec![
            plain(site),
            plain(verdict),
            plain("2026-11-25"),
            plain(["Ash", "Birch", "Cedar"][n % 3]),
            vec![Run::Code(HASH[n % 40..][..16].to_owned())],
        ];
        if n == 11 { Row::Marked(cells) } else { Row::Cells(cells) }
    };
    let table = Table {
        caption: "Sites of the office".to_owned(),
        columns: vec![column("Site", 26), column("Verdict", 32), column("Set on", 14), column("Crew", 10), column("Record begins", 22)],
        rows: (0..48).map(row).collect(),
    };
    Paper {
        title: "Quillbrook office, November 2026".to_owned(),
        footer: "48 records. Invented, for looking at.".to_owned(),
        standing: Headline { says: "36 of 48 sites comply".to_owned(), weight: Weight::Calm },
        parts: vec![part(
            "Sites",
            false,
            vec![Block::Words(plain("What was set in the month, and what it comes to.")), Block::Table(table)],
        )],
    }
}
