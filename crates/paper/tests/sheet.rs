//! The PDF, read back by a reader that is not ours.
#![cfg(feature = "pdf")]

mod reader;
use crate::specimen;
use crate::words;

use paper::{Block, Column, NoPdf, Paper, Picture, Row, Run, Size, Table, Text, Weight, pdf, plain};
use proptest::prelude::*;
use reader::Book;
use std::collections::BTreeSet;
use words::{paper_of, said, text, words};

fn read(paper: &Paper, size: Size) -> Book {
    let written = pdf(paper, size).unwrap();
    assert_eq!(written.boxes, BTreeSet::new());
    Book::read(&written.bytes)
}

fn column(title: &str, share: u16) -> Column {
    Column { title: title.to_owned(), share }
}

fn table(columns: Vec<Column>, rows: Vec<Row>) -> Block {
    Block::Table(Table { caption: "A table".to_owned(), columns, rows })
}

/// Letters alone: lines end where there was a space, and long words anywhere.
fn letters(text: &str) -> String {
    text.split_whitespace().collect()
}

#[test]
fn every_page_says_how_the_record_stands_and_which_it_is() {
    for size in [Size::A4, Size::Letter] {
        let book = read(&specimen::close_out(), size);
        let count = book.pages.len();
        assert!(count > 10);
        for (n, page) in book.pages.iter().enumerate() {
            assert!(page.between([0.0, 60.0]).contains("DOES NOT COMPLY"), "page {n}");
            let foot = page.between([page.size[1] - 60.0, page.size[1]]);
            assert!(foot.contains(specimen::HASH) && foot.contains(&format!("page {} of {count}", n + 1)), "{foot}");
        }
        // it is heard once, where the paper begins
        assert!(book.text().starts_with("DOES NOT COMPLY"));
        assert_eq!(book.text().matches("DOES NOT COMPLY").count(), 1);
        assert_eq!(book.text().matches("Invented, for looking at.").count(), 1);
    }
}

#[test]
fn sizes_are_those_of_paper() {
    let of = |size| read(&paper_of(Vec::new()), size).pages[0].size.map(|points| (points / 72.0 * 254.0).round() / 10.0);
    // ISO 216; 8.5 by 11 inches
    assert_eq!(of(Size::A4), [210.0, 297.0]);
    assert_eq!(of(Size::Letter), [215.9, 279.4]);
}

#[test]
fn a_table_has_its_head_on_every_page_and_its_rows_whole() {
    let rows: Vec<Row> = (0..300)
        .map(|n| {
            Row::Cells(vec![
                plain(format!("first-{n}-")),
                plain(format!("one two three four five six begun-{n}- seven eight nine ten ended-{n}-")),
            ])
        })
        .collect();
    let book = read(&paper_of(vec![table(vec![column("Setting", 1), column("Verdict", 1)], rows)]), Size::A4);
    assert!(book.pages.len() > 5);
    for page in &book.pages {
        let text = page.text(false);
        assert_eq!((text.matches("Setting").count(), text.matches("Verdict").count()), (1, 1));
        let numbers = |word: &str| text.split(word).skip(1).map(|rest| rest.split('-').next().unwrap().to_owned()).collect::<Vec<_>>();
        assert!(!numbers("first-").is_empty());
        assert_eq!(numbers("first-"), numbers("begun-"));
        assert_eq!(numbers("first-"), numbers("ended-"));
    }
    assert_eq!(book.text().matches("Setting").count(), 1, "heads are heard once");
    assert_eq!(book.text().matches("ended-").count(), 300);
}

/// Wherever a page ends: a heading, the head of a table and what a group has in common stand with what they head, and
/// notices and facts are whole.
#[test]
fn what_belongs_together_is_on_one_page() {
    for filled in 30..75 {
        let mut blocks: Vec<Block> = (0..filled).map(|_| Block::Words(plain("before"))).collect();
        blocks.push(Block::Heading("heading-a".to_owned()));
        blocks.push(table(
            vec![column("head-a", 1), column("", 1)],
            vec![Row::Group("group-a".to_owned()), Row::Cells(vec![plain("row-a"), plain("long ".repeat(40) + "end-a")])],
        ));
        blocks.push(Block::Heading("heading-b".to_owned()));
        blocks.push(Block::Notice(Weight::Mind, "notice-b".to_owned(), vec![plain("one ".repeat(60)), plain("end-b")]));
        blocks.push(Block::Facts(vec![("fact-c ".repeat(9), plain("end-c"))]));
        let book = read(&paper_of(blocks), Size::A4);
        let page_of = |word: &str| {
            let pages: Vec<usize> = (0..book.pages.len()).filter(|n| book.pages[*n].text(true).contains(word)).collect();
            assert_eq!(pages.len(), 1, "{word}, {filled} before");
            pages[0]
        };
        for together in
            [&["heading-a", "head-a", "group-a", "row-a", "end-a"][..], &["heading-b", "notice-b", "end-b"], &["fact-c", "end-c"]]
        {
            let pages: BTreeSet<usize> = together.iter().map(|word| page_of(word)).collect();
            assert_eq!(pages.len(), 1, "{together:?}, {filled} before");
        }
    }
}

#[test]
fn a_row_longer_than_a_page_goes_on_and_loses_nothing() {
    let long: String = (0..3000).map(|n| format!("word{n} ")).collect();
    let rows = vec![
        Row::Group("The group".to_owned()),
        Row::Cells(vec![plain("short"), plain(long.clone())]),
        Row::Cells(vec![plain("after"), plain("")]),
    ];
    let book = read(&paper_of(vec![table(vec![column("One", 1), column("Two", 1)], rows)]), Size::A4);
    assert!(book.pages.len() > 4);
    assert!(letters(&book.text()).contains(&letters(&long)));
    for page in &book.pages[1..] {
        let text = page.text(false);
        assert!(text.contains("One") && text.contains("Two"));
        assert_eq!(text.matches("The group").count(), 1);
    }
    // the first of it is where the table begins
    assert!(book.pages[0].text(true).contains("word0 "));
}

#[test]
fn an_empty_table_says_so() {
    let book = read(&paper_of(vec![table(vec![column("One", 1), column("Two", 1)], Vec::new())]), Size::A4);
    assert!(book.text().contains("TwoNone"), "{}", book.text());
}

/// Nothing stands outside the margins, whatever the words are.
fn assert_inside(book: &Book) {
    for page in &book.pages {
        for letter in page.letters.iter().filter(|letter| !letter.text.trim().is_empty()) {
            assert!(letter.x[0] > 45.5 && letter.x[1] < page.size[0] - 45.5, "{letter:?}");
            assert!(letter.y > 34.0 && letter.y < page.size[1] - 30.0, "{letter:?}");
        }
    }
}

#[test]
fn nothing_runs_over_the_margin() {
    let long = "W".repeat(400);
    let mut paper = paper_of(vec![
        Block::Heading(long.clone()),
        Block::Words(vec![Run::Strong(long.clone()), Run::Code(specimen::HASH.repeat(3))]),
        Block::List(vec![plain(long.clone())]),
        Block::Facts(vec![(long.clone(), plain(long.clone()))]),
        Block::Notice(Weight::Stop, long.clone(), vec![plain(long.clone()), plain(long.clone())]),
        table(
            (0..12).map(|n| column(&format!("Column{long}"), n)).collect(),
            vec![Row::Marked(vec![plain(specimen::HASH); 12]), Row::Group(long.clone())],
        ),
        Block::ToSign(vec![long.clone(), long.clone()]),
    ]);
    (paper.title, paper.footer, paper.standing.says) = (long.clone(), long.clone(), long);
    let book = read(&paper, Size::Letter);
    assert_inside(&book);
    assert_eq!(book.text().matches('W').count(), 26 * 400);
    assert_inside(&read(&specimen::close_out(), Size::A4));
}

/// Where some letters stand: all on one line, or the lines that they are on.
fn lines_of(book: &Book, words: &str) -> BTreeSet<i32> {
    let letters: Vec<_> = book.pages.iter().flat_map(|page| &page.letters).collect();
    let count = words.chars().count();
    let found = letters.windows(count).find(|some| some.iter().map(|letter| letter.text.as_str()).collect::<String>() == words);
    found.unwrap_or_else(|| panic!("no {words}")).iter().map(|letter| letter.y.round() as i32).collect()
}

#[test]
fn a_number_and_its_unit_are_in_one_line() {
    for before in 1..60 {
        let book = read(&paper_of(vec![Block::Words(plain(format!("{}≤ 258 V.", "about ".repeat(before))))]), Size::A4);
        assert_eq!(lines_of(&book, "≤ 258 V.").len(), 1, "{before}");
    }
}

/// A column is as wide as its longest word, while others have room to give; hashes are broken instead.
#[test]
fn words_in_narrow_columns_are_whole() {
    let columns = vec![column("Reconnection", 1), column("Notes", 30), column("", 1)];
    let cells = vec![plain("overvoltage"), plain("long ".repeat(60)), vec![Run::Code(specimen::HASH.to_owned())]];
    let book = read(&paper_of(vec![table(columns, vec![Row::Cells(cells)])]), Size::A4);
    assert_eq!(lines_of(&book, "Reconnection").len(), 1);
    assert_eq!(lines_of(&book, "overvoltage").len(), 1);
    assert!(letters(&book.text()).contains(specimen::HASH));
    assert_inside(&book);
}

#[test]
fn names_of_many_scripts_come_back() {
    let names = ["Λευκάδα", "Кирова", "Nguyễn Thị Ánh", "Łódź", "Ağaoğlu", "Þórður", "≤ ± · → °C − Δ φ ² Ω µ ½ “ ” … € £"];
    let blocks = names.iter().map(|name| Block::Words(vec![Run::Plain((*name).to_owned()), Run::Strong((*name).to_owned())])).collect();
    let book = read(&paper_of(blocks), Size::A4);
    for name in names {
        assert!(book.text().contains(&name.repeat(2)), "{name}");
    }
}

/// What the fonts lack is shown as a box, said, and still there for who searches.
#[test]
fn missing_letters_do_not_vanish() {
    let written = pdf(&paper_of(vec![Block::Words(plain("Site 山田 太郎, 山"))]), Size::A4).unwrap();
    assert_eq!(written.boxes, BTreeSet::from(['山', '田', '太', '郎']));
    let book = Book::read(&written.bytes);
    assert!(book.text().contains("Site 山田 太郎, 山"), "{}", book.text());
    let widths: Vec<f32> =
        book.pages[0].letters.iter().filter(|letter| "山田太郎".contains(&letter.text)).map(|letter| letter.x[1] - letter.x[0]).collect();
    assert_eq!(widths.len(), 5);
    assert!(widths.iter().all(|width| *width > 4.0), "{widths:?}");
}

#[test]
fn signs_that_control_something_are_shown() {
    let book = read(&paper_of(vec![Block::Words(plain("a\u{0}b\u{feff}c\u{7}d\te\nf\r\ng\u{ad}h"))]), Size::A4);
    assert!(letters(&book.text()).contains("a\u{fffd}b\u{fffd}c\u{fffd}defg"), "{}", book.text());
}

#[test]
fn the_same_paper_comes_to_the_same_bytes() {
    let once = pdf(&specimen::close_out(), Size::A4).unwrap();
    assert_eq!(once, pdf(&specimen::close_out(), Size::A4).unwrap());
    assert!(!String::from_utf8_lossy(&once.bytes).contains("CreationDate"));
}

/// The writer holds it against PDF/UA-1 as far as a program can; what it cannot know is held here.
#[test]
fn who_hears_it_read_is_told_what_is_what() {
    let paper = specimen::close_out();
    let book = read(&paper, Size::A4);
    let catalog = book.document.catalog().unwrap();
    assert_eq!(catalog.get(b"Lang").unwrap().as_str().unwrap(), b"en");
    let all = book.structure();
    let count = |kind: &str| all.iter().filter(|(one, _)| one == kind).count();
    assert_eq!((count("H1"), count("H2"), count("Figure"), count("Caption"), count("Table")), (1, 6, 4, 4, 3));
    let blocks = || paper.parts.iter().flat_map(|part| &part.blocks);
    let tables: Vec<&Table> = blocks().filter_map(|block| if let Block::Table(table) = block { Some(table) } else { None }).collect();
    assert_eq!(count("THead"), 3);
    assert_eq!(count("TR"), tables.iter().map(|table| 1 + table.rows.len().max(1)).sum::<usize>());
    for (kind, element) in &all {
        let attributes = format!("{:?}", element.get(b"A").ok().map(|a| book.document.dereference(a).unwrap().1));
        match kind.as_str() {
            "Figure" => assert!(element.get(b"Alt").unwrap().as_str().unwrap().len() > 5 && attributes.contains("BBox")),
            "TH" => assert!(attributes.contains("Scope"), "{attributes}"),
            "L" => assert!(attributes.contains("ListNumbering")),
            _ => {}
        }
    }
}

#[test]
fn every_kind_of_picture_is_drawn_with_its_words() {
    for (name, svg) in specimen::PICTURES {
        let picture = specimen::picture(name, svg);
        let book = read(&paper_of(vec![Block::Picture(picture)]), Size::A4);
        let tree = roxmltree::Document::parse(svg).unwrap();
        let words: String = tree
            .descendants()
            .filter(|node| node.has_tag_name(("http://www.w3.org/2000/svg", "text")))
            .filter_map(|node| node.text())
            .collect();
        assert!(words.len() > 50);
        assert!(letters(&book.text()).contains(&letters(&words)), "{name}: {}\n{words}", book.text());
        assert_inside(&book);
        assert!(book.pages.len() <= 2, "{name}");
    }
}

#[test]
fn what_is_not_known_of_a_picture_is_refused() {
    let (_, svg) = specimen::PICTURES[0];
    let with = |from: &str, to: &str| {
        assert!(svg.contains(from), "{from}");
        svg.replacen(from, to, 1)
    };
    for (svg, why) in [
        (with("<rect class=\"paper\"", "<g/><rect class=\"paper\""), "`g` is not known here"),
        (with(".figure .paper{fill:#fff}", ".figure .paper{fill:red}"), "`fill:red` is no colour known here"),
        (with(".figure .paper{fill:#fff}", ".figure .paper{filter:blur(2px)}"), "`filter:blur(2px)` is not known here"),
        (with(".figure .paper{", ".figure>.paper{"), "the selector `.figure>.paper` is not known here"),
        (with("<rect class=\"paper\"", "<rect class=\"paper\" opacity=\"0\""), "`opacity` of `rect` is not known here"),
        (with("rotate(-90", "skewX(-90"), "is no rotation"),
        (with("url(#", "url(#not-"), "no pattern is named"),
        (with("viewBox=\"0 0", "viewBox=\"5 0"), "its viewBox does not begin at the origin"),
        ("<svg".to_owned(), ""),
    ] {
        let picture = Picture { title: "Volt-watt".to_owned(), description: String::new(), svg };
        match pdf(&paper_of(vec![Block::Picture(picture)]), Size::A4) {
            Err(NoPdf::Picture { title, why: said }) => assert!(title == "Volt-watt" && said.contains(why), "{said}"),
            other => panic!("{why}: {other:?}"),
        }
    }
}

/// A block, and its words in the order in which they are read, cell by cell.
fn block() -> impl Strategy<Value = (Block, Vec<String>)> {
    let points = || prop::collection::vec(text(), 0..5);
    let bulleted = |points: &[Text]| points.iter().map(|point| format!("•{}", said(point))).collect::<Vec<_>>();
    prop_oneof![
        words().prop_map(|words| (Block::Heading(words.clone()), vec![words])),
        text().prop_map(|text| (Block::Words(text.clone()), vec![said(&text)])),
        points().prop_map(move |points| (Block::List(points.clone()), bulleted(&points))),
        (words(), points()).prop_map(move |(title, points)| {
            let body = if points.len() == 1 { vec![said(&points[0])] } else { bulleted(&points) };
            (Block::Notice(Weight::Stop, title.clone(), points), [vec![title], body].concat())
        }),
        prop::collection::vec((words(), text()), 1..4).prop_map(|facts| {
            let words = facts.iter().flat_map(|(name, what)| [name.clone(), said(what)]).collect();
            (Block::Facts(facts), words)
        }),
        prop::collection::vec((text(), any::<bool>()), 0..30).prop_map(|cells| {
            let row = |(cell, is_marked): &(Text, bool)| {
                if *is_marked { Row::Marked(vec![cell.clone()]) } else { Row::Cells(vec![cell.clone()]) }
            };
            let rows: Vec<Row> = cells.iter().map(row).collect();
            let words = if cells.is_empty() { vec!["None".to_owned()] } else { cells.iter().map(|(cell, _)| said(cell)).collect() };
            (table(vec![column("Only", 3)], rows), [vec!["Only".to_owned()], words].concat())
        }),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    /// Whatever somebody is called, the paper is written.
    #[test]
    fn any_words_can_be_written(words in any::<String>(), others in "[\\u{590}-\\u{6ff}\\u{900}-\\u{97f}\\u{300}-\\u{36f}a ]{0,30}") {
        let of_all = vec![
            Block::Words(plain(words.clone())),
            Block::Facts(vec![(others.clone(), vec![Run::Code(others.clone()), Run::Strong(words.clone())])]),
            Block::Heading(words.clone()),
        ];
        let mut paper = paper_of(of_all);
        (paper.title, paper.standing.says) = (words, others);
        let written = pdf(&paper, Size::A4);
        prop_assert!(written.is_ok(), "{:?}", written.err());
    }

    /// No word is lost and none comes twice, in the order in which they are read, and nothing stands outside.
    #[test]
    fn all_words_come_back_in_order(blocks in prop::collection::vec(block(), 0..40)) {
        let (blocks, words): (Vec<Block>, Vec<Vec<String>>) = blocks.into_iter().unzip();
        let book = read(&paper_of(blocks), Size::A4);
        let words = format!("NOT PROVEN A paper A part {} The foot", words.concat().concat());
        prop_assert_eq!(letters(&book.text()), letters(&words));
        assert_inside(&book);
    }
}
