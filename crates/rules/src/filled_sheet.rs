//! A sheet filled by hand, with what its columns are called, and the site that it is laid over.

use crate::assess::Assessor;
use settings_model::document::Node;
use settings_model::files::{ColumnMapFile, Device, Kind, SiteFile};
use settings_model::filled::{self, Columns, Rows};
use settings_model::finding::Finding;
use settings_model::labels::LabelMap;
use settings_model::library::NotUsed;
use settings_model::reader;
use settings_model::source::{SourceId, Sources};
use std::rc::Rc;

/// A sheet filled by hand, not yet laid over its site.
#[derive(Clone, Debug)]
pub struct FilledSheet {
    name: String,
    text: String,
    columns: Columns,
}

impl FilledSheet {
    /// A sheet, with the column map of the office where its columns have names of their own: of each a name for
    /// messages, and the text.
    ///
    /// # Errors
    /// What is wrong with the column map.
    pub fn new((name, text): (&str, &str), columns: Option<(&str, &str)>, sources: &mut Sources) -> Result<Self, Vec<Finding>> {
        let columns = columns.map_or_else(|| Ok(Columns::default()), |(name, text)| column_map(name, text, sources))?;
        Ok(Self { name: name.to_owned(), text: text.to_owned(), columns })
    }

    /// What messages call it.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// How many rows it has; `None` where it is no table with the columns that are needed.
    #[must_use]
    pub fn rows(&self) -> Option<Rows> {
        filled::count(&self.text, &self.columns)
    }

    /// The name of the site that its first row names; `None` where it names none.
    #[must_use]
    pub fn site(&self) -> Option<String> {
        filled::site_named(&self.text, &self.columns)
    }

    /// The site with what the sheet says of its devices.
    ///
    /// # Errors
    /// What of the sheet cannot be used.
    pub fn laid_over(&self, site: &Node, assessor: &mut Assessor) -> Result<Node, Vec<Finding>> {
        let source = assessor.sources.add(self.name.as_str(), self.text.as_str());
        let labels = label_maps(site, assessor)?;
        let of = |device: &str| labels.iter().find(|(name, _)| name == device).map_or(Ok(None), |(_, map)| map.clone());
        let laid = filled::laid_over(site, source, &self.text, &self.columns, &of)?;
        assessor.displayed(laid)
    }
}

impl Assessor {
    /// Reads and checks a site's text, and turns what its devices display into settings. A sheet filled by hand says
    /// what the devices hold, in place of what the text says.
    ///
    /// # Errors
    /// What is wrong with the site, or with the sheet.
    pub fn read_site_with(&mut self, source: SourceId, text: &str, sheet: Option<&FilledSheet>) -> Result<Node, Vec<Finding>> {
        match sheet {
            Some(sheet) => reader::read(source, text, Kind::Site).and_then(|root| sheet.laid_over(&root, self)),
            None => self.read_site(source, text),
        }
    }
}

/// A device's name, and its label map or why that is not used.
type OfDevice = (String, Result<Option<Rc<LabelMap>>, NotUsed>);

fn label_maps(site: &Node, assessor: &mut Assessor) -> Result<Vec<OfDevice>, Vec<Finding>> {
    let site: SiteFile<'_> = reader::typed(site)?;
    let map_of = |(name, device): (&str, &Device<'_>)| (name.to_owned(), assessor.library.labels_of(device, &mut assessor.sources));
    Ok(site.devices.iter().map(map_of).collect())
}

fn column_map(name: &str, text: &str, sources: &mut Sources) -> Result<Columns, Vec<Finding>> {
    let source = sources.add(name, text);
    let root = reader::read(source, text, Kind::ColumnMap)?;
    reader::typed::<ColumnMapFile>(&root).map(ColumnMapFile::columns)
}
