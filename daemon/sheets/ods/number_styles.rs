//! Whether any format of an .ods shows more of a number than its value holds: leading zeros, or a word beside it
//! (OpenDocument 1.2, part 1, sections 16.27.2 to 16.27.26).

use quick_xml::events::{BytesStart, Event};

use super::events::{Damage, attribute};

/// Follows the formats of a part as they go by.
#[derive(Default)]
pub(super) struct NumberStyles {
    /// Whether the format that goes by is one of plain numbers: days, money and percentages show other things.
    of_numbers: bool,
    /// Whether a text of that format goes by.
    in_text: bool,
    /// Whether one of those so far shows more.
    pub(super) show_more: bool,
}

impl NumberStyles {
    /// Takes the next event.
    pub(super) fn take(&mut self, event: &Event<'_>) -> Result<(), Damage> {
        match event {
            Event::Start(element) | Event::Empty(element) => self.take_element(element)?,
            Event::Text(text) if self.in_text => {
                self.show_more |= text.chars().any(char::is_alphabetic);
            }
            Event::End(_) => self.in_text = false,
            _ => {}
        }
        Ok(())
    }

    fn take_element(&mut self, element: &BytesStart<'_>) -> Result<(), Damage> {
        let name = element.name().0;
        self.in_text = self.of_numbers && name == "number:text";
        if name.starts_with("number:") && name.ends_with("-style") {
            self.of_numbers = name == "number:number-style";
        } else if self.of_numbers && name == "number:number" {
            let figures = attribute(element, "number:min-integer-digits")?;
            self.show_more |=
                figures.is_some_and(|figures| figures.parse().is_ok_and(|figures: u8| figures > 1));
        }
        Ok(())
    }
}
