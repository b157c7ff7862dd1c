//! To what a device is certified, against what it stands under: only a device of a standard's edition has its regions.

use settings_model::files::Device;
use settings_model::requirement::Rulebook;

/// To what a device is certified, against what it stands under.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Certificate {
    /// To the standard and edition that it stands under, whose regions it has.
    Fits,
    /// To another standard or edition, as files name it.
    Other(String),
    /// It is not stated.
    NotStated,
}

impl Certificate {
    /// That of a device, against a rulebook.
    #[must_use]
    pub fn of(device: &Device<'_>, rulebook: &Rulebook) -> Self {
        let (standard, editions) = &rulebook.standard;
        match &device.certified {
            None => Self::NotStated,
            Some(own) if *own.standard == **standard && editions.contains(&own.edition) => Self::Fits,
            Some(own) => Self::Other(format!("{}/{}", own.standard, own.edition.key())),
        }
    }

    /// Why no region is to be selected on the device, where it has none of those asked for.
    #[must_use]
    pub fn keeps_from_selecting(&self, region: &str) -> Option<String> {
        let Self::Other(own) = self else { return None };
        Some(format!(
            "the device is stated as certified to {own}, so it does not have the region {region}. First ask the network operator which \
             edition applies to it, and state that as `stands-under`; select and enter nothing before"
        ))
    }

    /// What to do about a device whose region, as it is recorded, is not the one asked for.
    pub(crate) fn region_remedy(&self, region: &str) -> String {
        if let Some(says) = self.keeps_from_selecting(region) {
            return says;
        }
        let certified = match self {
            Self::NotStated => " and to which edition it is certified",
            _ => "",
        };
        format!(
            "first see on the device which region is selected{certified}. Only if it is not {region}, select that; this may reset what was \
             entered, so enter again what `asleft sheet SITE` lists under ENTER, and read every value back"
        )
    }
}
