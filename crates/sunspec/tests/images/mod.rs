//! The register images of `tests/sunspec/images`, laid out with pysunspec2.

use settings_model::files::{Kind, RegisterImageFile};
use settings_model::source::Sources;
use settings_model::{exact::Exact, reader};
use std::path::PathBuf;
use sunspec::walk::{NoMap, walk};
use sunspec::{Against, Captured, Image, Options, Walk};

/// Where they lie.
pub fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../tests/sunspec/images")
}

/// The text of a file there.
pub fn text(name: &str) -> String {
    std::fs::read_to_string(folder().join(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
}

/// An image by its name.
pub fn image(name: &str) -> Image {
    let text = text(&format!("{name}.json"));
    let source = Sources::default().add(name, text.as_str());
    let root = reader::read(source, &text, Kind::RegisterImage).unwrap_or_else(|faults| panic!("{name}: {faults:?}"));
    Image::of_file(&reader::typed::<RegisterImageFile>(&root).unwrap())
}

/// The same, walked along.
#[allow(dead_code, reason = "not every test looks along the chain")]
pub fn walked(name: &str) -> Result<Walk, NoMap> {
    walk(&mut image(name), &Options::default(), &mut |_| {})
}

/// What an image comes to at a site of so many volts to neutral.
#[allow(dead_code, reason = "not every test looks at settings")]
pub fn captured(name: &str, nominal: Option<i64>) -> Captured {
    let against = Against { nominal: nominal.map(Exact::from), ..Against::default() };
    sunspec::mapping::captured(&walked(name).unwrap_or_else(|why| panic!("{name}: {why:?}")), &against)
}
