//! A sheet filled by hand, with what its columns are called.

use crate::args::Filled;
use rules::assess::Assessor;
use settings_model::document::Node;
use settings_model::files::{ColumnMapFile, Device, Kind, SiteFile};
use settings_model::filled::{self, Columns};
use settings_model::finding::Finding;
use settings_model::labels::LabelMap;
use settings_model::library::NotUsed;
use settings_model::reader;
use settings_model::source::Sources;
use std::io;
use std::rc::Rc;

/// A sheet filled by hand, not yet laid over its site.
#[derive(Clone)]
pub struct FilledSheet {
    name: String,
    text: String,
    columns: Columns,
}

impl FilledSheet {
    /// The sheet that the command line names, if it names one.
    ///
    /// # Errors
    /// What is wrong with its column map.
    pub fn named(args: &Filled, sources: &mut Sources) -> io::Result<Result<Option<Self>, Vec<Finding>>> {
        let Some(path) = &args.filled else { return Ok(Ok(None)) };
        let (name, text) = (path.display().to_string(), super::text(path)?);
        let columns = match &args.columns {
            None => Ok(Columns::default()),
            Some(path) => column_map(&super::text(path)?, &path.display().to_string(), sources),
        };
        Ok(columns.map(|columns| Some(Self { name, text, columns })))
    }

    /// The site with what the sheet says of its devices.
    pub fn laid_over(&self, site: &Node, assessor: &mut Assessor) -> Result<Node, Vec<Finding>> {
        let source = assessor.sources.add(self.name.as_str(), self.text.as_str());
        let labels = label_maps(site, assessor)?;
        let of = |device: &str| labels.iter().find(|(name, _)| name == device).map_or(Ok(None), |(_, map)| map.clone());
        let laid = filled::laid_over(site, source, &self.text, &self.columns, &of)?;
        assessor.displayed(laid)
    }
}

/// A device's name, and its label map or why that is not used.
type OfDevice = (String, Result<Option<Rc<LabelMap>>, NotUsed>);

fn label_maps(site: &Node, assessor: &mut Assessor) -> Result<Vec<OfDevice>, Vec<Finding>> {
    let site: SiteFile<'_> = reader::typed(site)?;
    let map_of = |(name, device): (&str, &Device<'_>)| (name.to_owned(), assessor.library.labels_of(device, &mut assessor.sources));
    Ok(site.devices.iter().map(map_of).collect())
}

fn column_map(text: &str, name: &str, sources: &mut Sources) -> Result<Columns, Vec<Finding>> {
    let source = sources.add(name, text);
    let root = reader::read(source, text, Kind::ColumnMap)?;
    reader::typed::<ColumnMapFile>(&root).map(ColumnMapFile::columns)
}
