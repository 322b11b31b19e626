"""The published sources that rules name.

Where only a second-hand copy of a publication was read, the name says "as re-told in".
"""

from __future__ import annotations

# --- trees, taps and holes ---------------------------------------------------------------------
PRODUCERS_MANUAL = (
    "North American maple producers' manual, as re-told in University of Maryland teaching slides, "
    "Maple syrup in the classroom"
)
CONSERVATIVE = (
    f"{PRODUCERS_MANUAL} (conservative guideline); supported by Ober, L., Ohio State University "
    "Extension, Tapping basics, 2013"
)
UMAINE_7036 = (
    "University of Maine Cooperative Extension, Bulletin 7036, How to tap maple trees and make "
    "maple syrup, as re-told in an undated page"
)
STATE_LEAFLETS = "State extension leaflets (the 10-18-24 card), as re-told in a hobby farm page"
VERMONT_CURRENT_USE = "Vermont current-use and organic tapping guideline, as re-told by a producer"
WILD = "Wild, A., Cornell University, pattern-tapping talk, reported in the trade press"
CHABOT = "Chabot, B., Cornell University, Limiting conservative tapping guidelines, 2013"
LEUTY_2014 = (
    "Leuty, T., Ontario Ministry of Agriculture, on the University of Vermont tapping model, 2014, "
    "as re-told in farm news"
)
USDA_HANDBOOK_134 = (
    "Willits, C. O. and Hills, C. H., US Department of Agriculture, Agriculture Handbook 134, "
    "Maple sirup producers manual, 1976"
)
HOUSTON_1990 = (
    "Houston, D. R., Allen, D. C. and Lachance, D., USDA Forest Service, General Technical Report "
    "NE-129, Sugarbush management: a guide to maintaining tree health, 1990"
)
VAN_DEN_BERG_2016 = (
    "van den Berg, A., Perkins, T., Isselhardt, M. and Wilmot, T., Growth rates of sugar maple "
    "trees tapped for maple syrup production, Forest Science 62, 2016"
)
NAMP_1998 = (
    "North American Maple Project, reported by Minnesota Department of Natural Resources, "
    "Forest health newsletter, 1998"
)
STORM_DAMAGE = "Northern Woodlands, Storm-damaged maples may need R&R, undated"
COOK = "Cook, G., University of Vermont Extension, Beginning sugarmaking: trees, taps, tubing"
PMRC_YIELD_2020 = (
    "University of Vermont Proctor Maple Research Center, Sap yield tips, 2020, as re-told on a "
    "public page"
)
ONTARIO_2015 = "Ontario Ministry of Agriculture, Maple production reports, 2015"
MAINE_SUGARMAKERS = "Southern Maine Maple Sugarmakers, newsletter on tapping, undated"
UNH_FORESTRY = "University of New Hampshire Extension, Good Forestry in the Granite State, 8.3"
OSU_PHENOLOGY = "Ober, L., Ohio State University Extension, Will the maple season continue?, 2017"

# --- weather -----------------------------------------------------------------------------------
UVM_FILMS = "Isselhardt, M., University of Vermont Extension, films on sap flow and density, 2022"

# --- sap, its keeping and its vessels ----------------------------------------------------------
UMN_HOMEMADE = "University of Minnesota Extension, Homemade maple syrup, undated"
UMAINE_7038 = (
    "Hopkins, K., University of Maine Cooperative Extension, Bulletin 7038, Maple syrup quality "
    "control manual"
)
UVM_OFF_FLAVOUR = "University of Vermont, Maple off-flavour reference set, undated"
OLLEY_RATKOWSKY_1973 = (
    "Olley, J. and Ratkowsky, D. A., relative spoilage rate of chilled food, 1973 (square-root "
    "form: Ratkowsky et al., Journal of Bacteriology 154, 1982); not validated for maple sap"
)
ONTARIO_LEAD = (
    "Ontario Ministry of Agriculture, Best production practices for maple: lead; and Canadian Food "
    "Inspection Agency, Preventive controls for maple products"
)
ONTARIO_FOOD_GRADE = "Ontario Maple Syrup Producers Association, Food-grade materials, undated"

# --- sugar, density and finishing --------------------------------------------------------------
CRC_SUCROSE = "CRC Handbook of Chemistry and Physics, aqueous sucrose, density at 20 °C"
JONES_1933 = (
    "Jones, C. H. and Bradlee, J. L., University of Vermont, rule of 86, 1933, as re-told in "
    "University of New Hampshire Extension figures"
)
VERMONT_CHART = "Vermont density chart (hydrometer at 60 °F), as re-told in an instruction sheet"
OSU_HYDROMETERS = "Ohio State University Extension, hydrometer testing report, undated"
IF97 = (
    "International Association for the Properties of Water and Steam, Industrial Formulation, 1997"
)
STARZAK_PEACOCK = (
    "Starzak, M. and Peacock, S. D., Water activity coefficient in aqueous solutions of sucrose, "
    "1997"
)
RISE_7_1 = "Vermont density chart instruction sheet: syrup of 66 Brix boils 7.1 °F above water"
US_GRADES = (
    "US Department of Agriculture, United States standards for grades of maple syrup, 2015, and "
    "21 CFR 168.140"
)
CANADA_GRADES = (
    "Canadian Food Inspection Agency, Canadian Grade Compendium, volume 7, maple syrup, undated"
)
VERMONT_RULE = "Vermont maple grade rule (36 °Bé at 60 °F), as re-told on a public page"
NEW_YORK_RULE = "New York, 1 NYCRR 270.1, maple syrup grades"
NEW_HAMPSHIRE_RULE = "New Hampshire maple density minimum, as re-told in a producer's page"
MAINE_RULE = "Maine Maple Producers Association, The science of syrup, undated"

# --- boiling, fuel, packing and safety ---------------------------------------------------------
BOILING_DOWN = "Farming magazine, Boiling it down (one gallon a square foot an hour), undated"
OSU_FUEL = "Ohio State University Extension, Choosing the right fuel, undated"
ONTARIO_MOULD_2014 = "Ontario Ministry of Agriculture, Preventing mould in packed maple syrup, 2014"
CDC_CO = "US Centers for Disease Control and Prevention, carbon monoxide page, undated"
ICE_TESTS = "Mass balance; ice sugar from community tests (0 to 1 %)"
