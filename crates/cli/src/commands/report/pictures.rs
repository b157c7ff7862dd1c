//! Pictures of what was asked and what was left: responses, and maps of the trip stages.

use super::Again;
use crate::commands::operand::{Operand, OperandError, SiteOperand};
use paper::{Block, Part, Picture, Weight, plain};
use plot::svg;
use record::Record;
use response::characteristic::RESPONSES;
use rules::assess::Assessor;
use settings_model::document::Node;
use settings_model::quantity::Dimension;
use views::curve::{picture::figure, series::Shown, subjects};
use views::trip_map::map::maps;

/// The part; `None` where there is nothing to draw.
pub fn part(record: &Record, again: &mut Again) -> Option<Part> {
    let blocks = match again.at_hand() {
        None => vec![again.why_not()],
        Some((root, assessor)) => drawn(&record.site.name, root, assessor).unwrap_or_else(|_| vec![cannot_be_drawn()]),
    };
    (!blocks.is_empty()).then(|| Part { title: "Pictures".to_owned(), starts_page: true, blocks })
}

fn cannot_be_drawn() -> Block {
    Block::Notice(Weight::Mind, "No pictures".to_owned(), vec![plain("What is asked here cannot be told again, so nothing is drawn.")])
}

fn drawn(site: &str, root: &Node, assessor: &mut Assessor) -> Result<Vec<Block>, OperandError> {
    let operand = Operand::Site(SiteOperand { root: root.clone(), device: None, moment: None });
    let operands = [(site, operand)];
    let mut blocks = Vec::new();
    for response in &RESPONSES {
        let mut subjects = subjects::of_all(response, &operands, None, assessor)?;
        subjects.retain(|subject| !subject.must_be_idle);
        // side by side they would hide each other
        for subject in subjects {
            let shown = Shown::new(response, vec![subject], None).map_err(|slip| OperandError::Words(slip.says))?;
            let (figure, id) = (figure(&shown), id(&blocks));
            blocks.push(picture(figure.title.clone(), figure.description.clone(), svg::svg(&figure, &id)));
        }
    }
    let [(word, operand)] = &operands;
    for map in maps(operand, word, &[Dimension::Voltage, Dimension::Frequency], None, assessor)? {
        let (picture_of, id) = (map.picture(), id(&blocks));
        blocks.push(picture(picture_of.title.clone(), picture_of.description.clone(), svg::map(&picture_of, &id)));
    }
    Ok(blocks)
}

/// What the names inside a picture begin with, so that several stand in one page.
fn id(before: &[Block]) -> String {
    format!("picture-{}", before.len() + 1)
}

fn picture(title: String, description: String, svg: String) -> Block {
    Block::Picture(Picture { title, description, svg })
}
