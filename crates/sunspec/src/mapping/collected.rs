//! What was read so far: settings, what was not read, and what is wrong.

use super::{Captured, Identity, NotRead, Origin, Reading};
use crate::decode::{Decoded, PointValue, Says};
use crate::trouble::{Trouble, TroubleKind};
use settings_model::catalogue::{HeldBy, SettingId};
use settings_model::claim::Evidence;
use settings_model::exact::Exact;
use settings_model::quantity::Amount;
use settings_model::settings::{Known, Step};
use settings_model::value::Value;

/// What was read so far.
#[derive(Default)]
pub(super) struct Collected {
    readings: Vec<Reading>,
    not_read: Vec<NotRead>,
    troubles: Vec<Trouble>,
}

/// A point of a decoded model, with the way to it.
#[derive(Clone)]
pub(super) struct At<'d> {
    pub(super) model: u16,
    pub(super) path: String,
    pub(super) held: &'d PointValue,
}

impl<'d> At<'d> {
    /// A point of a model's fixed part.
    pub(super) fn fixed(decoded: &'d Decoded, name: &str) -> Option<Self> {
        let held = decoded.parts.point(name)?;
        Some(Self { model: decoded.model.id, path: name.to_owned(), held })
    }

    pub(super) fn origin(&self) -> Origin {
        Origin { model: self.model, point: self.path.clone(), register: self.held.register, raw: self.held.raw.clone() }
    }
}

/// A setting of the catalogue by function and key.
pub(super) fn setting(function: &str, key: &str) -> Option<SettingId> {
    SettingId::find(function, key)
}

/// A device takes a value in steps of this size. It holds just what its register says, where that came out even.
pub(super) fn in_steps(size: Exact, exact: bool) -> Option<Box<Step>> {
    (size > Exact::ZERO).then(|| Box::new(Step { size, level: None, exact }))
}

/// Whether a file could hold it: numbers of nine digits at most.
fn is_short(value: &Value) -> bool {
    let short = |amount: &Amount| Exact::parse(&amount.number.to_string()).is_ok();
    match value {
        Value::Quantity(amount) => short(amount),
        Value::Curve(points) => points.iter().all(|point| short(&point.x) && short(&point.y)),
        Value::Word(_) | Value::Never => true,
    }
}

impl Collected {
    /// A setting that was read.
    pub(super) fn put(&mut self, setting: Option<SettingId>, value: Value, step: Option<Box<Step>>, from: Origin) {
        let Some(setting) = setting.filter(|setting| self.is_new(*setting)) else { return };
        if !is_short(&value) {
            let says = format!("{setting}: more than nine digits");
            return self.trouble(TroubleKind::NumberTooLong, says, (Some(from.model), Some(from.register)), &[Some(setting)]);
        }
        let step = step.filter(|step| step.size > Exact::ZERO && step.level.is_none_or(|level| level > Exact::ZERO));
        self.readings.push(Reading { setting, known: Known { value, evidence: Some(Evidence::Read), step }, from });
    }

    /// A setting that is one of a few words.
    pub(super) fn word(&mut self, setting: Option<SettingId>, word: &str, from: Origin) {
        let index = setting.and_then(|setting| match setting.parameter().shape {
            settings_model::catalogue::Shape::Choice(words) => words.iter().position(|known| *known == word),
            _ => None,
        });
        if let Some(index) = index.and_then(|index| u8::try_from(index).ok()) {
            self.put(setting, Value::Word(index), None, from);
        }
    }

    /// A setting that was not read. The first reason stays.
    pub(super) fn not_read(&mut self, setting: Option<SettingId>, why: &str) {
        self.without(setting, why, false);
    }

    /// A setting that has a register, which the device does not implement.
    pub(super) fn not_implemented(&mut self, setting: Option<SettingId>, why: &str) {
        self.without(setting, why, true);
    }

    fn without(&mut self, setting: Option<SettingId>, why: &str, not_implemented: bool) {
        // that a display says only "time" is nobody's setting
        let counts = |setting: &SettingId| setting.parameter().held_by != HeldBy::AmbiguousDisplay;
        if let Some(setting) = setting.filter(|setting| counts(setting) && self.is_new(*setting)) {
            self.not_read.push(NotRead { setting, why: why.to_owned(), not_implemented });
        }
    }

    /// Whether not one setting was read.
    pub(super) fn is_empty(&self) -> bool {
        self.readings.is_empty()
    }

    /// Whether nothing was said of a setting yet.
    pub(super) fn is_new(&self, setting: SettingId) -> bool {
        !self.readings.iter().any(|reading| reading.setting == setting) && !self.not_read.iter().any(|not| not.setting == setting)
    }

    /// Something that is wrong. Settings that it keeps from being read are not read, also where they were.
    pub(super) fn trouble(
        &mut self,
        kind: TroubleKind,
        says: impl Into<String>,
        at: (Option<u16>, Option<u16>),
        keeps_from: &[Option<SettingId>],
    ) {
        let says = says.into();
        let keeps_from: Vec<SettingId> = keeps_from.iter().flatten().copied().collect();
        self.readings.retain(|reading| !keeps_from.contains(&reading.setting));
        keeps_from.iter().for_each(|setting| self.not_read(Some(*setting), &says));
        let trouble = Trouble { kind, says, model: at.0, register: at.1, keeps_from };
        if !self.troubles.contains(&trouble) {
            self.troubles.push(trouble);
        }
    }

    /// The number of a point, and its resolution. Where there is none, the settings that depend on it are not
    /// read, and where that is a fault it is named.
    pub(super) fn number(&mut self, at: Option<&At<'_>>, settings: &[Option<SettingId>]) -> Option<(Exact, Exact)> {
        let Some(at) = at else {
            settings.iter().for_each(|setting| self.not_read(*setting, "the register is not there"));
            return None;
        };
        let point = at.held.point;
        let mut wrong = |kind, says: String| self.trouble(kind, says, (Some(at.model), Some(at.held.register)), settings);
        match &at.held.says {
            Says::Number { value, resolution } => return Some((*value, *resolution)),
            // a plain count has no scale: one is one
            Says::Code(count) => return Some((Exact::from(i64::from(*count)), Exact::ONE)),
            Says::NoScale(scale) => {
                wrong(TroubleKind::ScaleMissing, format!("{}: its scale {scale} is not implemented, so its size cannot be told", at.path));
            }
            Says::AbsurdScale(scale, power) => {
                wrong(TroubleKind::ScaleAbsurd, format!("{}: its scale {scale} says 10^{power}, which is none", at.path));
            }
            Says::TooLong => wrong(TroubleKind::NumberTooLong, format!("{}: more than nine digits", at.path)),
            _ => {
                let why = format!("model {}: {} is not implemented", at.model, point.name);
                settings.iter().for_each(|setting| self.not_implemented(*setting, &why));
            }
        }
        None
    }

    /// A plain quantity: the point's number times so much is the setting's base unit.
    pub(super) fn quantity(&mut self, setting: Option<SettingId>, at: Option<&At<'_>>, times: Exact) {
        let Some((value, resolution)) = self.number(at, &[setting]) else { return };
        let amount = Amount::plain(value * times);
        let from = at.map(At::origin).unwrap_or_default();
        self.put(setting, Value::Quantity(amount), in_steps(resolution * times, true), from);
    }

    /// A code of a point that it must have one of; `None` where there is none, and that is said.
    pub(super) fn code(&mut self, at: Option<&At<'_>>, settings: &[Option<SettingId>]) -> Option<u16> {
        let Some(at) = at else {
            settings.iter().for_each(|setting| self.not_read(*setting, "the register is not there"));
            return None;
        };
        match at.held.says {
            Says::Code(code) if at.held.word().is_some() => Some(code),
            Says::Code(code) => {
                let says = format!("{}: {code} is no code of model {}", at.path, at.model);
                self.trouble(TroubleKind::CodeUnknown, says, (Some(at.model), Some(at.held.register)), settings);
                None
            }
            _ => {
                let why = format!("model {}: {} is not implemented", at.model, at.held.point.name);
                settings.iter().for_each(|setting| self.not_implemented(*setting, &why));
                None
            }
        }
    }

    /// Reads what does not act: what cannot be told of it is not read, and leaves nothing else open.
    pub(super) fn aside(&mut self, acts: bool, read: impl FnOnce(&mut Self)) {
        if acts {
            return read(self);
        }
        let mut aside = Self::default();
        read(&mut aside);
        for reading in aside.readings.into_iter().filter(|reading| self.is_new(reading.setting)).collect::<Vec<_>>() {
            self.readings.push(reading);
        }
        aside.not_read.iter().for_each(|not| self.not_read(Some(not.setting), &format!("switched off, and {}", not.why)));
        self.troubles.extend(aside.troubles.into_iter().filter(|trouble| !trouble.kind.leaves_open()));
    }

    /// All of it, in catalogue order.
    pub(super) fn captured(mut self, identity: Identity, nominal: Option<Exact>) -> Captured {
        self.readings.sort_by_key(|reading| reading.setting);
        self.not_read.sort_by_key(|not| not.setting);
        self.troubles.sort_by_key(|trouble| !trouble.kind.leaves_open());
        Captured { identity, nominal, readings: self.readings, not_read: self.not_read, troubles: self.troubles }
    }
}
