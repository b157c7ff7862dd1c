//! A site on a line of JSON, read straight into its type where nothing has to be said of it.

use super::{Device, DeviceKind, Holding, Kind, Requirements, SiteFile};
use crate::files::cables;
use crate::reader::MOST_TEXT;

impl SiteFile<'_> {
    /// Reads a line of JSON straight into its type; `None` where it has to go through [`crate::reader::read`], which
    /// takes nothing else and says what does not fit: a fault, a `null`, which stands for nothing in files, a text of
    /// great length, or a site that is not plain.
    #[must_use]
    pub fn of_line(line: &str) -> Option<SiteFile<'_>> {
        let read = || serde_json::from_str::<SiteFile<'_>>(line).ok();
        if has_null(line) || has_long_text(line) { None } else { read().filter(|site| site.kind == Kind::Site && site.is_plain()) }
    }

    /// Whether its parts fit together without a closer look: one network or one standard, devices of
    /// different names, cables that fit, no approvals, nothing in the words of a display.
    fn is_plain(&self) -> bool {
        let Requirements { overlay, standard, installation, .. } = &self.requirements;
        let stands = matches!((&self.network, standard, overlay), (Some(_), None, _) | (None, Some(_), None))
            && (installation.is_none() || self.network.is_none());
        let names = || self.devices.iter().map(|(name, _)| name);
        let distinct = names().enumerate().all(|(n, name)| names().take(n).all(|earlier| earlier != name));
        let in_own_words = |holding: &Option<Holding<'_>>| holding.as_ref().is_none_or(|holding| holding.displayed.is_none());
        let of_its_kind = |device: &Device<'_>| {
            let is_relay = device.kind == DeviceKind::GridProtectionRelay;
            let mut holdings = device.as_found.iter().chain(&device.as_left);
            !is_relay || holdings.all(|holding| holding.settings.iter().all(|(id, _)| id.function().held_by.contains(&device.kind.into())))
        };
        let is_plain = |device: &Device<'_>| in_own_words(&device.as_found) && in_own_words(&device.as_left) && of_its_kind(device);
        let plain = self.devices.iter().all(|(_, device)| is_plain(device));
        stands
            && distinct
            && plain
            && !self.devices.0.is_empty()
            && self.site_specific_approvals.is_empty()
            && cables::fit(&self.cables, |name| self.devices.get(name).is_some())
    }
}

/// Whether a line of JSON has a `null` among its values: one in a name or a remark is text.
fn has_null(line: &str) -> bool {
    // most lines have the word nowhere, and that is quickly seen
    if !line.contains("null") {
        return false;
    }
    let (mut in_text, mut is_escaped) = (false, false);
    line.bytes().enumerate().any(|(at, byte)| {
        match byte {
            _ if is_escaped => is_escaped = false,
            b'\\' => is_escaped = in_text,
            b'"' => in_text = !in_text,
            b'n' => return !in_text && line[at..].starts_with("null"),
            _ => {}
        }
        false
    })
}

/// Whether a text of a line of JSON may be longer than the reader takes: what is escaped counts as it is written.
fn has_long_text(line: &str) -> bool {
    if line.len() <= MOST_TEXT {
        return false; // most lines
    }
    let (mut length, mut is_escaped) = (0, false);
    line.bytes().any(|byte| {
        // outside of texts this counts what stands between two of them, which is as short
        length = if byte == b'"' && !is_escaped { 0 } else { length + 1 };
        is_escaped = byte == b'\\' && !is_escaped;
        length > MOST_TEXT
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(name: &str, more: &str) -> String {
        format!(
            r#"{{"kind":"site","site":{name},"network":"quillbrook","requirements":{{"region":"australia-a"}},"supply":{{}},"devices":{{"inverter-1":{{"source":"solar"{more}}}}}}}"#
        )
    }

    #[test]
    fn a_null_in_a_name_or_a_remark_is_text() {
        for name in [r#""nullarbor-3""#, r#""null""#, r#""a \"null, b""#, r#""a \\, null:""#, r#""[null]""#] {
            let line = line(name, "");
            let read = SiteFile::of_line(&line).unwrap_or_else(|| panic!("{line}"));
            assert_eq!(&*read.site, serde_json::from_str::<String>(name).unwrap().as_str());
        }
    }

    /// What reads a line straight into its type would take it for a key that is not there.
    #[test]
    fn a_null_among_the_values_is_left_to_the_reader_that_says_so() {
        for (name, more) in
            [(r#""a""#, r#","nameplate":null"#), (r#""a \\""#, r#","nameplate": null "#), (r#""null""#, r#","serial":null"#)]
        {
            let line = line(name, more);
            assert!(SiteFile::of_line(&line).is_none(), "{line}");
            assert!(serde_json::from_str::<SiteFile<'_>>(&line).is_ok(), "{line}");
        }
    }
}
