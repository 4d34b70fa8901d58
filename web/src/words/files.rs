//! Words of the screens under Files.

pub(crate) fn files_word() -> &'static str {
    "Files"
}

pub(crate) fn people() -> &'static str {
    "Persons and this device"
}

pub(crate) fn people_under() -> &'static str {
    "Tap who records on this device from now on."
}

pub(crate) fn add_person() -> &'static str {
    "Add a person"
}

pub(crate) fn initials() -> &'static str {
    "Initials"
}

pub(crate) fn name_if_wished() -> &'static str {
    "Name, if wished"
}

pub(crate) fn save() -> &'static str {
    "Save"
}

pub(crate) fn light_heading() -> &'static str {
    "Light or dark"
}

pub(crate) fn light_label() -> &'static str {
    "Screens are drawn"
}

pub(crate) fn as_device() -> &'static str {
    "As the device"
}

pub(crate) fn light() -> &'static str {
    "Light"
}

pub(crate) fn dark() -> &'static str {
    "Dark, for the dark room"
}
