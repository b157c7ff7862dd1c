//! The page of HTML, read by a parser that is not ours (`html5ever`, a browser's, which says each fault of the
//! HTML Standard's parsing rules).

use crate::specimen;
use crate::words;

use paper::{Block, Column, Paper, Picture, Row, Run, Size, Table, Weight, html, plain};
use proptest::prelude::*;
use scraper::{ElementRef, Html, Selector};
use std::collections::BTreeSet;
use words::{paper_of, said, text, words};

fn read(paper: &Paper) -> Html {
    let page = Html::parse_document(&html(paper, Size::A4));
    assert_eq!(page.errors, Vec::<String>::new());
    page
}

fn all<'p>(page: &'p Html, selector: &str) -> Vec<ElementRef<'p>> {
    page.select(&Selector::parse(selector).unwrap()).collect()
}

#[test]
fn it_stands_by_itself() {
    let text = html(&specimen::close_out(), Size::Letter);
    let page = read(&specimen::close_out());
    assert!(text.contains("size: letter") || text.contains("size:letter"));
    for element in all(&page, "*") {
        let fetches = ["src", "href", "srcset", "data", "action"].iter().any(|name| element.attr(name).is_some());
        let runs = element.value().attrs().any(|(name, _)| name.starts_with("on")) || element.value().name() == "script";
        assert!(!fetches && !runs, "{}", element.html());
    }
    assert!(!text.contains("@import") && !text.contains("url(http") && !text.contains("url(//"));
    let policy = all(&page, "meta[http-equiv='Content-Security-Policy']");
    assert!(policy[0].attr("content").unwrap().starts_with("default-src 'none'"));
}

/// What is named is there, once; pictures that were drawn with the same names too.
#[test]
fn names_are_unique_and_lead_somewhere() {
    let pictures = || specimen::PICTURES.iter().chain(&specimen::PICTURES).map(|(name, svg)| Block::Picture(specimen::picture(name, svg)));
    let page = read(&paper_of(pictures().collect()));
    let names: Vec<&str> = all(&page, "[id]").iter().map(|element| element.attr("id").unwrap()).collect();
    let once: BTreeSet<&str> = names.iter().copied().collect();
    assert_eq!(names.len(), once.len());
    let mut used = 0;
    for element in all(&page, "*") {
        for (name, value) in element.value().attrs() {
            let named: Vec<&str> = match name {
                "aria-labelledby" => value.split_whitespace().collect(),
                _ => value.strip_prefix("url(#").and_then(|rest| rest.strip_suffix(')')).into_iter().collect(),
            };
            used += named.len();
            assert!(named.iter().all(|one| once.contains(one)), "{value}");
        }
    }
    assert!(used > 4 * specimen::PICTURES.len());
    // style sheets stand in the head alone, and none reaches beyond its own pictures
    assert_eq!(all(&page, "style").len(), 1);
    assert_eq!(all(&page, "svg > *").iter().filter(|element| element.value().name() == "style").count(), 0);
    let style = all(&page, "style")[0].text().collect::<String>();
    assert!(style.matches(".figure").all(|found| found == ".figure") && !style.contains(".figure ") && !style.contains(".figure{"));
}

#[test]
fn pictures_have_words_for_who_cannot_see_them() {
    let page = read(&specimen::close_out());
    let pictures = all(&page, "svg");
    assert_eq!(pictures.len(), 4);
    for picture in pictures {
        assert_eq!(picture.attr("role"), Some("img"));
        for name in picture.attr("aria-labelledby").unwrap().split_whitespace() {
            let words = all(&page, &format!("[id='{name}']"))[0].text().collect::<String>();
            assert!(words.len() > 10, "{words}");
        }
        assert!(picture.parent().and_then(ElementRef::wrap).unwrap().attr("aria-label").is_some());
    }
    assert_eq!(all(&page, "figure > figcaption").len(), 4);
}

#[test]
fn headings_and_landmarks_are_in_order() {
    let page = read(&specimen::close_out());
    let levels: Vec<u8> = all(&page, "h1,h2,h3,h4").iter().map(|heading| heading.value().name().as_bytes()[1] - b'0').collect();
    assert_eq!(levels[0], 1);
    assert!(levels.windows(2).all(|two| two[1] > 1 && two[1] <= two[0] + 1), "{levels:?}");
    assert_eq!((all(&page, "main").len(), all(&page, "header").len(), all(&page, "footer").len()), (1, 1, 1));
    assert!(all(&page, "section").iter().all(|section| section.attr("aria-labelledby").is_some()));
    assert_eq!(all(&page, "html")[0].attr("lang"), Some("en"));
}

#[test]
fn tables_say_what_heads_what() {
    let page = read(&specimen::close_out());
    for table in all(&page, "table") {
        let within = |selector: &str| table.select(&Selector::parse(selector).unwrap()).collect::<Vec<_>>();
        assert_eq!(within("caption").len(), 1);
        let columns = within("thead th[scope=col]").len();
        assert_eq!(within("thead th").len(), columns);
        for row in within("tbody tr") {
            let cells: Vec<ElementRef<'_>> = row.children().filter_map(ElementRef::wrap).collect();
            let span = |cell: &ElementRef<'_>| cell.attr("colspan").map_or(1, |span| span.parse::<usize>().unwrap());
            assert_eq!(cells.iter().map(span).sum::<usize>(), columns);
            assert!(cells.iter().all(|cell| cell.value().name() == "td" || cell.attr("scope").is_some()));
        }
        for head in within("th[scope=rowgroup]") {
            let row = head.parent().and_then(ElementRef::wrap).unwrap();
            assert_eq!(row.prev_siblings().filter_map(ElementRef::wrap).count(), 0, "a group begins a body");
        }
    }
}

#[test]
fn the_standing_is_at_the_head_with_its_weight() {
    for (weight, class) in [(Weight::Calm, "calm"), (Weight::Mind, "mind"), (Weight::Stop, "stop")] {
        let mut paper = paper_of(Vec::new());
        paper.standing.weight = weight;
        let page = read(&paper);
        let said = all(&page, ".head .standing");
        assert_eq!(said[0].text().collect::<String>(), "NOT PROVEN");
        assert!(said[0].attr("class").unwrap().split_whitespace().any(|one| one == class));
    }
}

/// What looks like HTML stays words.
#[test]
fn words_stay_words() {
    let hostile = "</style></title><script>alert(1)</script>\"'&amp;<img src=x onerror=y>";
    let cell = || plain(hostile);
    let table = Table {
        caption: hostile.to_owned(),
        columns: vec![Column { title: hostile.to_owned(), share: 1 }, Column { title: hostile.to_owned(), share: 1 }],
        rows: vec![Row::Group(hostile.to_owned()), Row::Cells(vec![cell(), cell()]), Row::Marked(vec![cell(), cell()])],
    };
    let blocks = vec![
        Block::Heading(hostile.to_owned()),
        Block::Words(vec![Run::Code(hostile.to_owned()), Run::Strong(hostile.to_owned())]),
        Block::Facts(vec![(hostile.to_owned(), cell())]),
        Block::Table(table),
        Block::Notice(Weight::Stop, hostile.to_owned(), vec![cell(), cell()]),
        Block::ToSign(vec![hostile.to_owned()]),
    ];
    let mut paper = paper_of(blocks);
    (paper.title, paper.footer, paper.standing.says) = (hostile.to_owned(), hostile.to_owned(), hostile.to_owned());
    paper.parts[0].title = hostile.to_owned();
    let page = read(&paper);
    assert_eq!(all(&page, "script,img").len(), 0);
    let text = all(&page, "body")[0].text().collect::<String>();
    assert_eq!(text.matches(hostile).count(), 22);
}

/// A picture that runs something, or reaches out of itself, is not let in.
#[test]
fn foreign_pictures_are_told_by_their_words() {
    let with = |inside: &str| format!("<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 9 9\">{inside}</svg>");
    let foreign = [
        "no picture".to_owned(),
        with("<script>1</script>"),
        with("<a href=\"https://example.org\"><text>x</text></a>"),
        with("<image href=\"https://example.org/x.png\"/>"),
        with("<rect onclick=\"x()\" width=\"1\" height=\"1\"/>"),
        with("<style>body{display:none}</style>"),
        with("<style>.figure a{background:url(https://example.org)}</style>"),
    ];
    for svg in foreign {
        let picture = Picture { title: "A curve".to_owned(), description: "It falls.".to_owned(), svg: svg.clone() };
        let page = read(&paper_of(vec![Block::Picture(picture)]));
        assert_eq!(all(&page, "svg").len(), 0, "{svg}");
        let said = all(&page, "figure")[0].text().collect::<String>();
        assert!(said.contains("A curve") && said.contains("It falls.") && said.contains("cannot be shown"), "{said}");
    }
}

proptest! {
    /// No word is lost, and none comes twice, in the order in which they stand on the paper.
    #[test]
    fn all_words_are_there(heading in words(), one in text(), points in prop::collection::vec(text(), 0..4), name in words(), cells in prop::collection::vec(text(), 3)) {
        let columns = ["one", "two", "three"].map(|title| Column { title: title.to_owned(), share: 2 });
        let table = Table { caption: "all".to_owned(), columns: columns.to_vec(), rows: vec![Row::Cells(cells.clone())] };
        let paper = paper_of(vec![
            Block::Heading(heading.clone()),
            Block::Words(one.clone()),
            Block::Notice(Weight::Mind, name.clone(), points.clone()),
            Block::Facts(vec![(name.clone(), one.clone())]),
            Block::Table(table),
        ]);
        let page = read(&paper);
        let head = |words: &String| if words.trim().is_empty() { String::new() } else { words.clone() };
        let expected = [
            vec!["A paper".to_owned(), "A part".to_owned(), head(&heading), said(&one), head(&name)],
            points.iter().map(said).collect(),
            vec![name, said(&one), "all".to_owned(), "one".to_owned(), "two".to_owned(), "three".to_owned()],
            cells.iter().map(said).collect(),
        ];
        prop_assert_eq!(all(&page, "main")[0].text().collect::<String>(), expected.concat().concat());
    }
}
