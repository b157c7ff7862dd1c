//! Reads a PDF back with a reader that is not the writer's (`lopdf`): every letter, where it stands, and what it is
//! part of.

use lopdf::{Dictionary, Document, Encoding, Object, ObjectId};
use std::collections::BTreeMap;

/// A letter, or letters that are one sign.
#[derive(Clone, Debug)]
pub struct Letter {
    pub text: String,
    /// From where to where, in points from the left.
    pub x: [f32; 2],
    /// The line it stands on, in points from the top.
    pub y: f32,
    /// What it is part of: the number of its mark, or none for what only repeats.
    pub mark: Option<i64>,
}

/// A page.
pub struct Page {
    pub size: [f32; 2],
    pub letters: Vec<Letter>,
}

impl Page {
    /// All letters as they come, or those of what is read alone.
    pub fn text(&self, only_read: bool) -> String {
        self.letters.iter().filter(|letter| !only_read || letter.mark.is_some()).map(|letter| letter.text.as_str()).collect()
    }

    /// The texts of lines from one height to another, from the top.
    pub fn between(&self, [top, bottom]: [f32; 2]) -> String {
        self.letters.iter().filter(|letter| letter.y > top && letter.y < bottom).map(|letter| letter.text.as_str()).collect()
    }
}

/// A PDF, read.
pub struct Book {
    pub document: Document,
    pub pages: Vec<Page>,
}

impl Book {
    pub fn read(bytes: &[u8]) -> Self {
        let document = Document::load_mem(bytes).unwrap();
        let pages = document.get_pages().into_values().map(|page| read_page(&document, page)).collect();
        Self { document, pages }
    }

    /// All that is read, in the order of the structure: as it is heard.
    pub fn text(&self) -> String {
        let mut marked: BTreeMap<(ObjectId, i64), String> = BTreeMap::new();
        for (page, id) in self.pages.iter().zip(self.document.get_pages().into_values()) {
            for letter in &page.letters {
                if let Some(mark) = letter.mark {
                    marked.entry((id, mark)).or_default().push_str(&letter.text);
                }
            }
        }
        let mut heard = String::new();
        for (_, element) in self.structure() {
            let own = element.get(b"Pg").and_then(Object::as_reference).ok();
            let children = element.get(b"K").map(|children| children.as_array().cloned().unwrap_or_else(|_| vec![children.clone()]));
            for child in children.unwrap_or_default() {
                let mark = match &child {
                    Object::Integer(mark) => own.map(|page| (page, *mark)),
                    Object::Dictionary(mark) => {
                        let page = mark.get(b"Pg").and_then(Object::as_reference).ok().or(own);
                        page.zip(mark.get(b"MCID").and_then(Object::as_i64).ok())
                    }
                    _ => None,
                };
                heard.extend(mark.and_then(|mark| marked.remove(&mark)));
            }
        }
        assert!(marked.is_empty(), "not in the structure, or twice: {marked:?}");
        heard
    }

    /// The elements of the structure: their kinds, and what is said of them.
    pub fn structure(&self) -> Vec<(String, Dictionary)> {
        let root = self.document.catalog().unwrap().get(b"StructTreeRoot").unwrap().as_reference().unwrap();
        let mut all = Vec::new();
        self.elements(root, &mut all);
        all
    }

    fn elements(&self, at: ObjectId, all: &mut Vec<(String, Dictionary)>) {
        let Ok(element) = self.document.get_dictionary(at) else { return };
        if let Ok(kind) = element.get(b"S").and_then(Object::as_name) {
            all.push((String::from_utf8(kind.to_vec()).unwrap(), element.clone()));
        }
        let children = element.get(b"K").map(|children| children.as_array().cloned().unwrap_or_else(|_| vec![children.clone()]));
        for child in children.unwrap_or_default() {
            if let Ok(child) = child.as_reference() {
                self.elements(child, all);
            }
        }
    }
}

/// A matrix as PDF writes it (ISO 32000-1, 8.3.4).
type Matrix = [f32; 6];

fn times(a: Matrix, b: Matrix) -> Matrix {
    [
        a[0] * b[0] + a[1] * b[2],
        a[0] * b[1] + a[1] * b[3],
        a[2] * b[0] + a[3] * b[2],
        a[2] * b[1] + a[3] * b[3],
        a[4] * b[0] + a[5] * b[2] + b[4],
        a[4] * b[1] + a[5] * b[3] + b[5],
    ]
}

struct Font<'d> {
    encoding: Encoding<'d>,
    widths: BTreeMap<u16, f32>,
}

fn read_page(document: &Document, id: ObjectId) -> Page {
    let dictionary = document.get_dictionary(id).unwrap();
    let media: Vec<f32> = dictionary.get(b"MediaBox").unwrap().as_array().unwrap().iter().map(|one| one.as_float().unwrap()).collect();
    let fonts: BTreeMap<Vec<u8>, Font<'_>> =
        document.get_page_fonts(id).unwrap().into_iter().map(|(name, font)| (name, read_font(document, font))).collect();
    let mut reader = Reader { fonts, height: media[3], ..Reader::default() };
    for operation in document.get_and_decode_page_content(id).unwrap().operations {
        reader.operation(&operation.operator, &operation.operands);
    }
    assert!(reader.marks.is_empty() && reader.stack.is_empty());
    Page { size: [media[2], media[3]], letters: reader.letters }
}

fn read_font<'d>(document: &'d Document, font: &'d Dictionary) -> Font<'d> {
    let descendant = font.get(b"DescendantFonts").unwrap();
    let descendant = match descendant {
        Object::Reference(id) => document.get_object(*id).unwrap(),
        other => other,
    };
    let (_, descendant) = document.dereference(&descendant.as_array().unwrap()[0]).unwrap();
    let (_, widths) = document.dereference(descendant.as_dict().unwrap().get(b"W").unwrap()).unwrap();
    let mut all = BTreeMap::new();
    for three in widths.as_array().unwrap().chunks(3) {
        let [first, last] = [0, 1].map(|n| u16::try_from(three[n].as_i64().unwrap()).unwrap());
        all.extend((first..=last).map(|id| (id, three[2].as_float().unwrap())));
    }
    Font { encoding: font.get_font_encoding(document).unwrap(), widths: all }
}

#[derive(Default)]
struct Reader<'d> {
    fonts: BTreeMap<Vec<u8>, Font<'d>>,
    height: f32,
    stack: Vec<Matrix>,
    now: Option<Matrix>,
    text: Matrix,
    font: (Vec<u8>, f32),
    /// What was begun: the number of a mark, and what its letters stand for.
    marks: Vec<(Option<i64>, Option<String>)>,
    letters: Vec<Letter>,
}

impl Reader<'_> {
    fn operation(&mut self, operator: &str, operands: &[Object]) {
        let numbers = || -> Matrix { std::array::from_fn(|n| operands[n].as_float().unwrap()) };
        let here = self.now.unwrap_or([1.0, 0.0, 0.0, 1.0, 0.0, 0.0]);
        match operator {
            "q" => self.stack.push(here),
            "Q" => self.now = self.stack.pop(),
            "cm" => self.now = Some(times(numbers(), here)),
            "Tf" => self.font = (operands[0].as_name().unwrap().to_vec(), operands[1].as_float().unwrap()),
            "Tm" => self.text = numbers(),
            "TJ" => self.show(operands[0].as_array().unwrap(), here),
            "Tj" => self.show(operands, here),
            "BMC" => self.marks.push((None, None)),
            "BDC" => {
                let said = operands[1].as_dict().unwrap();
                let number = said.get(b"MCID").and_then(Object::as_i64).ok().or_else(|| {
                    // inside another mark
                    (operands[0].as_name().unwrap() != b"Artifact").then(|| self.marks.last().and_then(|mark| mark.0)).flatten()
                });
                let instead = said.get(b"ActualText").ok().map(|text| lopdf::decode_text_string(text).unwrap());
                self.marks.push((number, instead));
            }
            "EMC" => {
                self.marks.pop().unwrap();
            }
            "'" | "\"" | "Td" | "TD" | "T*" | "Tc" | "Tw" | "Tz" | "TL" | "Ts" | "Do" => panic!("`{operator}` is not read here"),
            "rg" | "RG" | "k" | "K" | "sc" | "SC" => panic!("a colour"),
            _ => {}
        }
    }

    fn show(&mut self, strings: &[Object], here: Matrix) {
        let (name, size) = self.font.clone();
        let mut along = 0.0;
        for string in strings {
            let Ok(bytes) = string.as_str() else {
                along -= string.as_float().unwrap() / 1000.0 * size;
                continue;
            };
            for id in bytes.chunks(2) {
                let font = &self.fonts[&name];
                let width = font.widths[&u16::from_be_bytes([id[0], id[1]])] / 1000.0 * size;
                let text = match self.marks.last_mut().and_then(|mark| mark.1.as_mut()) {
                    Some(instead) => std::mem::take(instead),
                    None => Document::decode_text(&font.encoding, id).unwrap(),
                };
                let at = |along: f32| {
                    let place = times([1.0, 0.0, 0.0, 1.0, along, 0.0], times(self.text, here));
                    (place[4], self.height - place[5])
                };
                let ((x, y), (end, _)) = (at(along), at(along + width));
                along += width;
                let mark = self.marks.last().and_then(|mark| mark.0);
                self.letters.push(Letter { text, x: [x.min(end), x.max(end)], y, mark });
            }
        }
    }
}
