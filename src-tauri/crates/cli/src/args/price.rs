//! Prices: entered, listed, withdrawn.

use clap::{Args, Subcommand};

#[derive(Debug, Subcommand)]
pub(crate) enum Price {
    /// Enter a price, or correct the one of the same date, kind, seller and shop
    Add(AddPrice),
    /// List all prices of a product, and which of them count
    List {
        /// The key, such as marrowfield/stile-5
        product: String,
    },
    /// Withdraw a price that was noted in error
    Withdraw {
        #[command(flatten)]
        which: WhichPrice,
        /// Why; it is kept with the change
        #[arg(long, value_name = "TEXT", default_value = "")]
        reason: String,
    },
}

#[derive(Debug, Args)]
pub(crate) struct AddPrice {
    /// The key, such as marrowfield/stile-5
    pub(crate) product: String,
    /// What was asked for what, such as 249, '129 each', '599 set of 5', '129 EUR each'
    pub(crate) price: String,
    /// When: a day, a month or a year; without it today
    #[arg(long, value_name = "YYYY-MM-DD")]
    pub(crate) date: Option<String>,
    /// list, street or sale; without it street
    #[arg(long)]
    pub(crate) kind: Option<String>,
    /// maker, authorised, marketplace or used; without it the maker for list prices, else authorised
    #[arg(long)]
    pub(crate) seller: Option<String>,
    /// Which shop, where one day has several prices
    #[arg(long, value_name = "NAME", default_value = "")]
    pub(crate) shop: String,
    /// A remark on the price
    #[arg(long, value_name = "TEXT", default_value = "")]
    pub(crate) note: String,
    /// Say how it is understood, save nothing
    #[arg(long)]
    pub(crate) dry_run: bool,
    /// The date of a price that this one corrects
    #[arg(long, value_name = "DATE")]
    pub(crate) instead_of: Option<String>,
    /// Why; it is kept with the change
    #[arg(long, value_name = "TEXT", default_value = "")]
    pub(crate) reason: String,
}

#[derive(Debug, Args)]
pub(crate) struct WhichPrice {
    /// The key, such as marrowfield/stile-5
    pub(crate) product: String,
    /// Its date, as listed
    pub(crate) date: String,
    /// Its kind, where the date has several
    #[arg(long)]
    pub(crate) kind: Option<String>,
    /// Its seller, where the date has several
    #[arg(long)]
    pub(crate) seller: Option<String>,
    /// Its shop, where the date has several
    #[arg(long, value_name = "NAME")]
    pub(crate) shop: Option<String>,
}
