//! The arguments of what goes on the shelf and on the bench.

use clap::{Args, Subcommand};

#[derive(Debug, Subcommand)]
pub(crate) enum Add {
    /// A model that is not on the shelf yet
    Product(AddProduct),
    /// A unit that will be opened
    Specimen(AddSpecimen),
    /// A day of work on a specimen
    Teardown(AddTeardown),
}

#[derive(Debug, Args)]
pub(crate) struct AddProduct {
    /// The maker's name as printed
    pub(crate) maker: String,
    /// The model's name as printed; both together make the key
    pub(crate) model: String,
    /// How it stands: stand-mount or floor-standing
    #[arg(long)]
    pub(crate) kind: String,
    /// The number of ways, 1 to 4
    #[arg(long, value_name = "NUMBER")]
    pub(crate) ways: u32,
    /// The year it came out
    #[arg(long, value_name = "YYYY")]
    pub(crate) year: i32,
    /// It has an amplifier of its own; such products are listed and never scored
    #[arg(long)]
    pub(crate) powered: bool,
    /// A remark
    #[arg(long, value_name = "TEXT", default_value = "")]
    pub(crate) note: String,
}

#[derive(Debug, Args)]
pub(crate) struct AddSpecimen {
    /// The key, such as marrowfield/stile-5
    pub(crate) product: String,
    /// Your own label for it, such as A
    pub(crate) label: String,
    /// How it was come by: retail, lent, gift, 'second hand'
    #[arg(long, value_name = "HOW")]
    pub(crate) acquired: String,
    /// Its serial number
    #[arg(long, value_name = "TEXT", default_value = "")]
    pub(crate) serial: String,
}

#[derive(Debug, Args)]
pub(crate) struct AddTeardown {
    /// The key, such as marrowfield/stile-5
    pub(crate) product: String,
    /// The label of the specimen
    pub(crate) specimen: String,
    /// The day; without it today
    #[arg(long, value_name = "YYYY-MM-DD")]
    pub(crate) date: Option<String>,
    /// A remark
    #[arg(long, value_name = "TEXT", default_value = "")]
    pub(crate) note: String,
}

#[derive(Debug, Args)]
pub(crate) struct Bench {
    /// The key, such as marrowfield/stile-5
    pub(crate) product: String,
    /// The label of the specimen; without it that of the newest teardown
    #[arg(long, value_name = "LABEL")]
    pub(crate) specimen: Option<String>,
    /// The day of the teardown; without it the newest one
    #[arg(long, value_name = "YYYY-MM-DD")]
    pub(crate) date: Option<String>,
}
