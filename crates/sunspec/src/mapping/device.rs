//! The models of a device that can be used, and what is wrong with the others.

use super::collected::Collected;
use crate::decode::{Decoded, Says};
use crate::layout::Misfit;
use crate::models::{self, title};
use crate::trouble::TroubleKind;
use crate::walk::{Block, Ended, LOCAL_CONTROL, MOST_MODELS, Walk};

/// The models of a device.
pub(super) struct DeviceModels {
    decoded: Vec<Decoded>,
    /// Every model that lies there, whether it can be used or not.
    there: Vec<u16>,
    /// Whether the chain was followed to its end, so that what was not seen does not lie there.
    pub(super) is_whole: bool,
}

impl DeviceModels {
    pub(super) fn of(walk: &Walk, collected: &mut Collected) -> Self {
        let there: Vec<u16> = walk.blocks.iter().map(|block| block.id).collect();
        ended(&walk.ended, collected);
        if there.first() != Some(&1) {
            let first = there.first().map_or_else(|| "there is none".to_owned(), |id| format!("model {id} is"));
            collected.trouble(
                TroubleKind::NoIdentity,
                format!("model 1, which names the device, is not the first model: {first}"),
                (None, None),
                &[],
            );
        }
        let mut device = Self { decoded: Vec::new(), there, is_whole: walk.ended == Ended::AtItsEnd };
        for block in &walk.blocks {
            local_control(block, collected);
            device.decoded.extend(device.usable(block, collected));
        }
        device
    }

    /// A model, if it can be used.
    pub(super) fn model(&self, id: u16) -> Option<&Decoded> {
        self.decoded.iter().find(|decoded| decoded.model.id == id)
    }

    /// The first of these models that lies there, whether it can be used or not: newer ones come first.
    pub(super) fn first_of(&self, ids: &[u16]) -> Option<u16> {
        ids.iter().copied().find(|id| self.has(*id))
    }

    /// Whether a model lies there, whether it can be used or not.
    pub(super) fn has(&self, id: u16) -> bool {
        self.there.contains(&id)
    }

    fn usable(&self, block: &Block, collected: &mut Collected) -> Option<Decoded> {
        let model = models::model(block.id)?;
        let name = format!("model {} ({})", block.id, model.title);
        let mut wrong = |kind, says: String| collected.trouble(kind, says, (Some(block.id), Some(block.at)), &[]);
        if self.there.iter().filter(|id| **id == block.id).count() > 1 && block.id != 1 {
            wrong(TroubleKind::ModelTwice, format!("{name} lies there more than once; which one counts is not said, so none is used"));
            return None;
        }
        if !block.is_whole() {
            let why = block.failed.as_ref().map(|why| format!(": {why}")).unwrap_or_default();
            let has = block.words.len().saturating_sub(2);
            wrong(TroubleKind::ModelNotRead, format!("{name} was not read whole, {has} of {} registers{why}", block.length));
            return None;
        }
        if let [first, ..] = block.changed[..] {
            let says = format!("{name} changed while it was read: {} registers, the first at {first}; read it again", block.changed.len());
            wrong(TroubleKind::ChangedWhileRead, says);
            return None;
        }
        if let Some(why) = &block.failed {
            wrong(TroubleKind::ModelNotRead, format!("{name} was read only once, the second reading failed: {why}"));
        }
        match Decoded::of(block)? {
            Ok(decoded) => {
                damaged_text(&decoded, collected);
                Some(decoded)
            }
            Err(misfit) => {
                let why = match misfit {
                    Misfit::NoCount(point) => format!("{point} is not implemented"),
                    Misfit::Length { counted, stated } => format!("by its counts it has {counted} registers, by its length {stated}"),
                };
                let says =
                    format!("{name} does not fit its layout: {why}; it may follow another version of the definitions, and is not used");
                wrong(TroubleKind::LayoutDoesNotFit, says);
                None
            }
        }
    }
}

fn ended(ended: &Ended, collected: &mut Collected) {
    let (kind, says, at) = match ended {
        Ended::AtItsEnd => return,
        Ended::ImpossibleLength { id, at, length } => {
            let says =
                format!("model {id} ({}) at {at} gives a length of {length}, which cannot be; nothing behind it was read", title(*id));
            (TroubleKind::ChainBroken, says, *at)
        }
        Ended::TooMany => {
            let says = format!("more than {MOST_MODELS} models; no device has so many, and the rest was not read");
            return collected.trouble(TroubleKind::TooManyModels, says, (None, None), &[]);
        }
        Ended::NotRead { at, why } => {
            (TroubleKind::ChainBroken, format!("the model at {at} could not be read, so nothing from there on was: {why}"), *at)
        }
    };
    collected.trouble(kind, says, (None, Some(at)), &[]);
}

/// Model 715, whose first point says whether the device follows commands from afar.
fn local_control(block: &Block, collected: &mut Collected) {
    if block.id == LOCAL_CONTROL && block.words.get(2) == Some(&1) {
        let says = "the device is under local control; what is set at its panel counts";
        collected.trouble(TroubleKind::LocalControl, says, (Some(block.id), Some(block.at)), &[]);
    }
}

fn damaged_text(decoded: &Decoded, collected: &mut Collected) {
    for held in &decoded.parts.points {
        if let Says::Text { damaged: true, .. } = held.says {
            let says = format!("{} holds bytes that are no text; they were left out", held.point.name);
            collected.trouble(TroubleKind::TextDamaged, says, (Some(decoded.model.id), Some(held.register)), &[]);
        }
    }
}
