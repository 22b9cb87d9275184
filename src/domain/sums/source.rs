//! Where the equations and constants come from, written once.

/// Density of aqueous sucrose.
pub const SUCROSE: &str = "Z. Bubnik, P. Kadlec, D. Urban, M. Bruhns, Sugar Technologists Manual, Bartens, 8th ed. 1995, p. 164";
/// Density of ethanol-water mixtures, and percent by volume at 20 °C.
pub const ALCOHOLOMETRY: &str =
    "OIML R 22, International Alcoholometric Tables, 1975 (Council Directive 76/766/EEC, annex)";
/// Expansion of hydrometer glass.
pub const GLASS: &str = "ISO 1768:1975, Glass hydrometers, clause 3";
/// Balance of extract, alcohol, gas and yeast.
pub const BALLING: &str = "H. Nielsen, A. G. Kristiansen, K. M. Krieger Lassen, C. Erikstroem, Balling's formula: scrutiny of a brewing dogma, Brauwelt International, April 2007";
/// Real extract from apparent extract and alcohol.
pub const TABARIE: &str = "Tabarie's relation of the gravities, each 20/20 (checked against Cutaia et al. 2009, whose real extracts are calculated)";
/// The sets against which the balance was checked: original and apparent extract and
/// alcohol are measured, real extract is calculated (its equation 17).
pub const CUTAIA: &str = "A. J. Cutaia, A.-J. Reid, R. A. Speers, J. Inst. Brew. 115(4), 318-327, 2009, table III (real extract calculated)";
/// Habits of the trade that have no author.
pub const PRACTICE: &str = "common practice, no source";
/// Table of sugar, alcohol and other solutions at 20 °C.
pub const HANDBOOK: &str = "J. Rumble (ed.), CRC Handbook of Chemistry and Physics, 102nd ed., 2021, Concentrative Properties of Aqueous Solutions";
/// Water in honey from refraction.
pub const HONEY_WATER: &str =
    "Chataway 1932 and Wedmore 1955, in S. Bogdanov, Book of Honey, ch. 4, 2011";
/// CO2 in water.
pub const WEISS: &str = "R. F. Weiss, Mar. Chem. 2, 203-215, 1974, fresh water";
/// CO2 in water, the other review.
pub const CARROLL: &str =
    "J. J. Carroll, J. D. Slupsky, A. E. Mather, J. Phys. Chem. Ref. Data 20, 1201-1209, 1991";
/// CO2 in wine at 20 °C by pressure, alcohol and sugar.
pub const EU_CO2: &str = "Commission Regulation (EEC) No 2676/90, Community methods for the analysis of wines, carbon dioxide";
/// Density of CO2 as a real gas.
pub const COOLPROP: &str = "CoolProp 8.0.0, reference equation of CO2";
/// Pressure of the same sparkling wine at three temperatures.
pub const BOTTLES: &str = "G. Liger-Belair et al., Sci. Rep. 7, 2017, s41598-017-10702-6, table 1";
/// Henry's constants of CO2 measured in lager beer at 6 °C and sparkling wine at 10 °C.
pub const HENRY_IN_DRINKS: &str = "ACS Omega 6, 9672, 2021, table 1";
/// Molecular sulfur dioxide by pH, alcohol and temperature.
pub const OIV_SO2: &str =
    "OIV, Compendium of International Methods of Wine and Must Analysis, OIV-MA-AS323-04C, table I";
/// Nitrogen aims of wine making.
pub const AWRI: &str = "Australian Wine Research Institute, Yeast Assimilable Nitrogen";
/// Nitrogen aim found best for mead, together with at least 600 mg/L of potassium.
pub const MEAD_NITROGEN: &str = "150 mg N/L with at least 600 mg/L of potassium: Influence of nitrogen, minerals and vitamins supplementation on honey wine production using response surface methodology (abstract)";
/// Nitrogen by gram of sugar.
pub const TAILLANDIER: &str =
    "P. Taillandier et al., four strains in synthetic medium (abstract, core.ac.uk/works/5185513)";
/// Composition of honey and fruit.
pub const USDA: &str = "USDA National Nutrient Database, SR Legacy (April 2018); each ingredient's own line stands in the table";
