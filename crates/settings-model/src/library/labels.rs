//! Label maps by family, or by model and firmware.

use super::{Library, Profile, Refusal, Request, misfiled, none, open};
use crate::facts::Facts;
use crate::files::{Device, Kind, LabelMapFile, StandardFile};
use crate::finding::{Finding, nearest};
use crate::labels::LabelMap;
use crate::library::Typed;
use crate::reader;
use crate::source::{Place, Sources};
use std::rc::Rc;

/// Why the label map of a device is not used, although one is named or its model has one.
#[derive(Clone, Debug)]
pub enum NotUsed {
    /// A map's file is at fault.
    Faulty(Vec<Finding>),
    /// It is none for this device, as far as can be told.
    Because {
        /// The key of the device that decides: `labels`, `model` or `firmware`.
        part: &'static str,
        /// What is wrong.
        says: String,
        /// What to do.
        hint: String,
        /// Where a map says which firmware it is for.
        map: Option<Place>,
    },
}

impl Library {
    /// The keys of all label maps: `labels/fernhill-k/2.0`.
    #[must_use]
    pub fn label_maps(&self) -> Vec<String> {
        self.profiles
            .keys()
            .filter(|path| path.starts_with("labels/"))
            .filter_map(|path| path.strip_suffix(".yaml"))
            .map(str::to_owned)
            .collect()
    }

    /// The families that have label maps.
    fn families(&self) -> Vec<String> {
        let mut families: Vec<String> = self.label_maps().iter().filter_map(|key| Some(key.split('/').nth(1)?.to_owned())).collect();
        families.dedup();
        families
    }

    /// A label map, read and built.
    ///
    /// # Errors
    /// Every fault of its file.
    pub fn label_map(&mut self, key: &str, sources: &mut Sources) -> Result<Rc<LabelMap>, Vec<Finding>> {
        let path = format!("{key}.yaml");
        if let Some(read) = self.labels.get(&path) {
            return read.clone();
        }
        let read = self.read_label_map(&self.profiles[&path], sources).map(Rc::new);
        self.labels.insert(path, read.clone());
        read
    }

    fn read_label_map(&self, profile: &Profile, sources: &mut Sources) -> Result<LabelMap, Vec<Finding>> {
        let source = sources.add(profile.name.clone(), profile.text.clone());
        self.admit(profile, source)?;
        let root = open(profile, source, Kind::LabelMap)?;
        let file: LabelMapFile = reader::typed(&root)?;
        let map = LabelMap::of(source, &file)?;
        let (_, kept) = profile.path.split_once('/').unwrap_or_default();
        let (folder, name) = kept.split_once('/').unwrap_or((kept, ""));
        let paths = [&*profile.path, &format!("labels/{}/{name}", map.family)];
        none(misfiled(file.family.place, "family", [&map.family, folder], paths).into_iter().collect())?;
        Ok(map)
    }

    /// The label map of a device; see [`Self::labels_for`].
    ///
    /// # Errors
    /// See [`NotUsed`].
    pub fn labels_of(&mut self, device: &Device<'_>, sources: &mut Sources) -> Result<Option<Rc<LabelMap>>, NotUsed> {
        self.labels_for([&device.labels, &device.model, &device.firmware].map(|stated| stated.as_deref()), sources)
    }

    /// The label map of a device with this family, model and firmware: that of the family it names, or of its model, for its firmware. `None`
    /// where it names no family and no map is for its model.
    ///
    /// # Errors
    /// See [`NotUsed`].
    pub fn labels_for(
        &mut self,
        [family, model, firmware]: [Option<&str>; 3],
        sources: &mut Sources,
    ) -> Result<Option<Rc<LabelMap>>, NotUsed> {
        let maps = match (family, model) {
            (Some(family), _) => self.maps_of_family(family, sources)?,
            (None, Some(model)) => self.maps_of_model(model, sources)?,
            (None, None) => return Ok(None),
        };
        if maps.is_empty() {
            return Ok(None);
        }
        if let Some(model) = model.filter(|model| !maps.iter().any(|map| map.is_for(model))) {
            let mut models: Vec<&str> = maps.iter().flat_map(|map| map.models.iter().map(String::as_str)).collect();
            models.dedup();
            return Err(NotUsed::Because {
                part: "model",
                says: format!("the label maps of `{}` are not for `{model}`", maps[0].family),
                hint: format!("they are for {}; leave `labels` out, or correct the model", models.join(", ")),
                map: None,
            });
        }
        let maps: Vec<Rc<LabelMap>> = maps.into_iter().filter(|map| model.is_none_or(|model| map.is_for(model))).collect();
        for_firmware(&maps, firmware).map(Some)
    }

    fn maps_of_family(&mut self, family: &str, sources: &mut Sources) -> Result<Vec<Rc<LabelMap>>, NotUsed> {
        let keys: Vec<String> = self.label_maps().into_iter().filter(|key| key.split('/').nth(1) == Some(family)).collect();
        if keys.is_empty() {
            let families = self.families();
            return Err(NotUsed::Because {
                part: "labels",
                says: format!("no label map of a family `{family}`"),
                hint: match nearest(family, families.iter().map(String::as_str)) {
                    Some(meant) => format!("did you mean `{meant}`?"),
                    None => format!("known: {}; give a folder with more as `--profiles`", families.join(", ")),
                },
                map: None,
            });
        }
        keys.iter().map(|key| self.label_map(key, sources).map_err(NotUsed::Faulty)).collect()
    }

    /// Only maps whose text names the model are read.
    fn maps_of_model(&mut self, model: &str, sources: &mut Sources) -> Result<Vec<Rc<LabelMap>>, NotUsed> {
        let keys = match self.maps_by_model.get(model) {
            Some(keys) => keys.clone(),
            None => {
                let wanted = model.trim().to_lowercase();
                let names = |key: &String| self.profiles[&format!("{key}.yaml")].text.to_lowercase().contains(&wanted);
                let keys: Rc<[String]> = self.label_maps().into_iter().filter(names).collect();
                self.maps_by_model.insert(model.to_owned(), keys.clone());
                keys
            }
        };
        let mut maps = Vec::new();
        for key in keys.iter() {
            maps.extend(Some(self.label_map(key, sources).map_err(NotUsed::Faulty)?).filter(|map| map.is_for(model)));
        }
        Ok(maps)
    }

    /// The base standard that a site, or one device of it, stands under; `None` where that is not settled,
    /// which judging the site reports.
    pub fn base_standard(&mut self, request: Request<'_>, facts: &Facts, sources: &mut Sources) -> Option<Rc<Typed<StandardFile>>> {
        let settled: Result<_, Refusal> = match request.in_place {
            Some(in_place) => self.standard(in_place.standard, sources),
            None => self.chain(request, facts, sources).map(|chain| chain.standard),
        };
        settled.ok()
    }
}

/// The one map that was confirmed for a firmware.
fn for_firmware(maps: &[Rc<LabelMap>], firmware: Option<&str>) -> Result<Rc<LabelMap>, NotUsed> {
    let names: Vec<String> = maps.iter().map(|map| map.name()).collect();
    let names = names.join("; ");
    let because = |says: String, hint: &str| NotUsed::Because {
        part: "firmware",
        says,
        hint: hint.to_owned(),
        map: maps.first().map(|map| map.firmware.1).filter(|place| place.is_known()),
    };
    let Some(firmware) = firmware else {
        return Err(because(
            format!("its firmware is not stated, so its label map is not used ({names})"),
            "read the firmware on the device, and state it as `firmware: …`",
        ));
    };
    let fitting: Vec<&Rc<LabelMap>> = maps.iter().filter(|map| map.firmware.0.holds(firmware) == Some(true)).collect();
    let has_no_order = maps.iter().all(|map| map.firmware.0.holds(firmware).is_none());
    match fitting[..] {
        [map] => Ok(map.clone()),
        [] if has_no_order => Err(because(
            format!("firmware `{firmware}` cannot be compared with what its label map was confirmed for, so that is not used ({names})"),
            "write the firmware as numbers with dots, or have the map name it as it is shown",
        )),
        [] => Err(because(
            format!("no label map was confirmed for firmware `{firmware}`, so none is used ({names})"),
            "compare the map with this firmware, and keep a map of its own for it; until then state the values under `settings`",
        )),
        _ => Err(because(
            format!("several label maps are for firmware `{firmware}`, so none is used ({names})"),
            "name the family as `labels: …`, or keep their ranges of firmware apart",
        )),
    }
}
