//! The settings as the long run keeps to them: the last ones that could be read.

use std::fs;
use std::time::SystemTime;

use jiff::tz::TimeZone;

use super::keeper::Shop;
use crate::round::{self, YardFolder};
use crate::settings::Settings;
use crate::watch::Places;

/// The settings in force, and the file that they come from.
#[derive(Debug)]
pub(super) struct ShopSettings {
    folder: YardFolder,
    /// Length and time of the file that was read last; `None` where there was none.
    signature: Option<(u64, SystemTime)>,
    in_force: Settings,
}

impl ShopSettings {
    /// The settings of a yard folder; the usual ones where they cannot be read.
    pub(super) fn of(folder: &YardFolder) -> ShopSettings {
        let mut settings =
            ShopSettings { folder: folder.clone(), signature: None, in_force: Settings::default() };
        settings.signature = settings.signature_now();
        settings.read();
        settings
    }

    /// Whether other settings are in force than at the last question. A file that cannot be read leaves the last good
    /// ones in force; each round says so in its letter.
    pub(super) fn have_changed(&mut self) -> bool {
        let signature = self.signature_now();
        if signature == self.signature {
            return false;
        }
        self.signature = signature;
        self.read()
    }

    /// When the letter goes out.
    pub(super) fn shop(&self) -> Shop {
        Shop {
            days: self.in_force.days.clone(),
            zone: TimeZone::get(&self.in_force.zone).unwrap_or(TimeZone::UTC),
        }
    }

    /// Where a change matters.
    pub(super) fn places(&self) -> Places {
        Places {
            yard: self.folder.root().to_owned(),
            folders: self.in_force.folders.clone(),
            agreed: self.in_force.sheets.clone(),
            limits: self.in_force.limits.clone(),
        }
    }

    fn signature_now(&self) -> Option<(u64, SystemTime)> {
        let file = fs::metadata(self.folder.settings()).ok()?;
        Some((file.len(), file.modified().ok()?))
    }

    fn read(&mut self) -> bool {
        match round::settings_in_force(&self.folder, false) {
            Ok((settings, _)) => self.in_force = settings,
            Err(problems) => {
                let problems = problems.len();
                tracing::warn!(problems, "tickover.toml cannot be read; the settings stay as they are");
                return false;
            }
        }
        true
    }
}

#[cfg(test)]
mod tests {
    use std::fs;

    use jiff::civil::time;

    use super::ShopSettings;
    use crate::round::YardFolder;

    #[test]
    fn a_broken_file_leaves_the_last_good_settings_in_force() {
        let yard = tempfile::tempdir().unwrap();
        let folder = YardFolder::at(yard.path());
        let write = |text: &str| fs::write(folder.settings(), text).unwrap();
        write("[days]\nletter_at = \"06:15\"\n");
        let mut settings = ShopSettings::of(&folder);
        assert_eq!(settings.shop().days.letter_at, time(6, 15, 0, 0));
        assert!(!settings.have_changed());
        write("[days\n");
        assert!(!settings.have_changed());
        assert_eq!(settings.shop().days.letter_at, time(6, 15, 0, 0));
        write("[days]\nletter_at = \"06:45\" # later\n");
        assert!(settings.have_changed());
        assert_eq!(settings.shop().days.letter_at, time(6, 45, 0, 0));
        fs::remove_file(folder.settings()).unwrap();
        assert!(settings.have_changed());
        assert_eq!(settings.shop().days.letter_at, time(7, 30, 0, 0), "without a file the usual ones count");
    }
}
