"""The published sources that rules name.

Where only a second-hand copy of a publication was read, the name says "as re-told in".
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

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
ONTARIO_2018 = "Ontario Ministry of Agriculture, Maple production report, February 2018"
MAINE_SUGARMAKERS = "Southern Maine Maple Sugarmakers, newsletter on tapping, undated"
UNH_FORESTRY = "University of New Hampshire Extension, Good Forestry in the Granite State, 8.3"
OSU_PHENOLOGY = "Ober, L., Ohio State University Extension, Will the maple season continue?, 2017"

PERKINS_ZONE = (
    "Perkins, T. D., University of Vermont Proctor Maple Research Center, A model of the tapping "
    "zone (concept; the equations are worked from its description)"
)
SPOUT_SEATING = "University of Vermont, The Goldilocks touch (seating of spouts), trade press"
MATHEWS_2024 = (
    "Mathews, J. et al., Sap yield and sugar content of boxelder and Norway maple trees in "
    "northern Utah, HortTechnology 34, 2024"
)

# --- weather -----------------------------------------------------------------------------------
UVM_FILMS = "Isselhardt, M., University of Vermont Extension, films on sap flow and density, 2022"

HOULE_2015 = (
    "Houle, D. et al., Impacts of climate change on the timing of the production season of maple "
    "syrup in eastern Canada, PLoS ONE 10, 2015 (constants second-hand)"
)

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

NBS_C440 = "US National Bureau of Standards, Circular C440, weights of sucrose solutions, 1942"
ICUMSA_DENSITY = (
    "International Commission for Uniform Methods of Sugar Analysis, SPS-4 density polynomial "
    "(coefficients from memory, checked against the CRC table)"
)
ICUMSA_REFRACTOMETER = (
    "International Commission for Uniform Methods of Sugar Analysis, temperature correction of "
    "refractometers (table from memory)"
)
PEARSON = "Pearson square, the mixing rule of the food trades"
PRODUCT_CHART = (
    "Printable chart of product temperatures above the boiling point of water, undated; the "
    "Ontario Maple Syrup Producers Association gives other figures for hard sugar"
)

# --- boiling, fuel, packing and safety ---------------------------------------------------------
BOILING_DOWN = "Farming magazine, Boiling it down (one gallon a square foot an hour), undated"
OSU_FUEL = "Ohio State University Extension, Choosing the right fuel, undated"
ONTARIO_MOULD_2014 = "Ontario Ministry of Agriculture, Preventing mould in packed maple syrup, 2014"
WILMOT_ENERGY = (
    "Wilmot, T., University of Vermont, energy of maple syrup making, as quoted on a public page; "
    "latent heat from the steam tables"
)
MSU_STORING = "Michigan State University Extension, Storing maple syrup, undated"
PACKING_MANUAL = "Maple production manual, section D.6, Retail packaging and storage, undated"
MOULD_VIEWS = (
    "CooksInfo, Maple syrup mould (discard), against growers' lists (skim and re-boil), undated"
)
CANADA_LOT_CODE = "Canadian Food Inspection Agency, lot code notice, December 2016"
SYRUP_DEFECTS = "N'guyen et al., Scientific Reports, 2018, table 1 (defect classes of maple syrup)"
CORNELL_BUDDY = "Cornell University Sensory Evaluation Center, buddy lexicon, 2023"
MAINE_117 = "Code of Maine Rules, chapter 117, maple definitions"
IMSI_LEAD = "International Maple Syrup Institute, good manufacturing practices to avoid lead, 2015"
ISOPROPYL = "Maple Research index, Do not use isopropyl alcohol as a maple sanitizer in the US"
CDC_CO = "US Centers for Disease Control and Prevention, carbon monoxide page, undated"
BURN_AID = (
    "St John Ambulance Cymru, Burns; and North Bristol NHS Trust, First aid for burns, both undated"
)
ICE_TESTS = "Mass balance; ice sugar from community tests (0 to 1 %)"

# --- what can hurt, and the passing questions of the handbook ----------------------------------
ONTARIO_GUIDANCE = (
    "Ontario Ministry of Agriculture, guidance to Ontario Regulation 119/11, 1.3, food grade "
    "materials"
)
CFIA_MAPLE_MANUAL = (
    "Canadian Food Inspection Agency, Maple products establishment inspection manual, 4.5.1"
)
ONTARIO_LEAD_TEST = (
    "Ontario Maple Syrup Producers Association, food grade materials and testing equipment for "
    "lead, undated"
)
FOOD_CODE = (
    "US Food and Drug Administration, Food Code 4-101.15, as quoted by the Conference for Food "
    "Protection, 2012"
)
LEAD_KITS_2007 = (
    "US Consumer Product Safety Commission, 2007, on home lead kits, as re-told in trade press"
)
ST_JOHN_BURNS = "St John Ambulance Cymru, first aid for burns, undated"
NHS_BURNS = "North Bristol NHS Trust, first aid for burns, undated"
CO_CONNECTICUT = (
    "Connecticut Department of Public Health, January 2015, and Tacoma-Pierce County Health "
    "Department, preventing carbon monoxide poisoning"
)
BLEACH_STRENGTH = (
    "Water Quality and Health Council, How to use high strength bleach; and National Resource "
    "Center for Health and Safety in Child Care, 2013"
)
BLEACH_MIXING = (
    "West Virginia Local Technical Assistance Program, Dangerous cleaning concoctions, undated"
)
UMAINE_MOULD_2014 = (
    "University of Maine Extension, Microbial contamination in maple syrup, June 2014 (abstract)"
)
ONTARIO_PREMISES = "Ontario, Premises and food-grade material requirements, undated"
FILTER_CARE = "Small producers' pages and a hobby book on the care of filters, undated"
OSU_TAPPING = "Ohio State University Extension, A few thoughts on tapping (ten steps), undated"
ONTARIO_TREE_HEALTH = "Ontario Maple Syrup Producers Association, Tapping 101: tree health, undated"
WHEN_TO_TAP = "Northern Woodlands, How do you know when to tap, undated"
WISCONSIN_FOOD_SAFETY = (
    "University of Wisconsin Extension, Waupaca, Focus on food safety when making maple syrup, 2021"
)
HEILIGMANN_CANDY = (
    "Heiligmann, R., Ohio State University Extension F-46-02, Maple candy and other confections, "
    "as re-told on public pages"
)
ONTARIO_CONFECTIONS = "Ontario Maple Syrup Producers Association, Maple confections, undated"
QUEBEC_SOFT_SUGAR = "Revenu Quebec, definition of soft maple sugar, undated"
REFRACTOMETER_MAKERS = "Instructions of refractometer makers, undated"
OSU_EVAPORATORS = "Ohio State University Extension, All things evaporators, parts III and IV, 2021"
HYDROMETER_SHEETS = (
    "Hydrometer sheets that reproduce the Vermont chart, and University of Vermont Extension, "
    "film on hydrometers"
)
CHIMNEY_FIRES = "A fire department's page, and a leaflet, on chimney fires, undated"
NFPA_PAN_FIRES = (
    "Ashburn Fire and Rescue, 2020, after the US National Fire Protection Association, on pans "
    "of burning fat"
)
SEVERE_BLEEDING = (
    "City of Roseville, Minnesota, Severe bleeding, undated, and a hospital's first aid text"
)
UNH_YIELD = (
    "University of New Hampshire Extension, sap of a tap in a season, as quoted on a public page"
)
WINTER_TWIGS = (
    "Penn State Extension beginners' leaflet, as re-told, and a naturalist's page on twigs"
)
CHABOT_COLOR = (
    "Chabot, B. and Childs, S., Cornell Maple Program, Guidelines for visual color grading; "
    "University of Vermont Extension, film on maple color grades"
)
CORNELL_SMALL_RO = "Cornell Small Farms, Working with little reverse osmosis units, 2017"
WILMOT_3_16 = "Wilmot, T., University of Vermont, The 3/16 phenomenon, trade press"
SALE_RULES = (
    "Wisconsin Extension and Department of Agriculture, 2021, and Maine, 01-001 C.M.R. chapter 347"
)
SAP_SHEET = "US Department of Agriculture, extension sheet on the handling of maple sap (abstract)"
OSU_FOAM = (
    "Ohio State University Extension, All things evaporators, part III, 2021, and Fighting foam, "
    "2015"
)
BEGINNERS_LEAFLET = "Beginners' leaflet on making maple syrup, as re-told on a public page, undated"
ROADSIDE_TREES = "Maine Forest Rangers, and City of Ann Arbor, 2018 and 2021, in local news"
CFIA_PACKING = "Canadian Food Inspection Agency, Maple syrup packing and storage, archived"
WOOD_MEASURED = "Erie Times-News, March 2013 (21 gallons a cord), and a local newspaper (15)"
PMRC_DEPTH = "University of Vermont Proctor Maple Research Center, on tap depth, as quoted"
ASEPTIC_SAP = (
    "Morselli, M. F. and Whalen, M. L., Canadian Journal of Forest Research, 1991 (abstract)"
)
OPEN_FIRE_CODE = (
    "International Fire Code, section 307.4.2 (recreational fires), as adopted in towns' ordinances"
)
CLOTHES_FIRE = (
    "Toronto housing's page on clothing catching fire, and two fire departments', undated"
)
HANDS_ONLY_CPR = (
    "The Buffalo News, March 2018, after the American Heart Association, on hands-only CPR"
)
CHOKING = "A health news service, undated, after the American Red Cross, on choking"
HEART_AND_STROKE = (
    "Two hospitals' pages, undated, after the American Heart Association and the American Stroke "
    "Association"
)
SWALLOWED_POISON = "Missouri Poison Center and Oregon Poison Center, on swallowed poison, undated"
EYE_INJURY = "Mayo Clinic, March 2018, and two hospitals' pages, on eye injuries"
ELECTRIC_SHOCK = "An electric utility's page, and a hospital's, on electric shock, undated"
ICE_THICKNESS = (
    "New York Department of Environmental Conservation, by syracuse.com, January 2018, and a news "
    "page, 2020 (white ice double), on ice thickness"
)
LIGHTNING = "US National Weather Service, lightning safety (indoors, thirty minutes), as quoted"
CORD_CARE = "Electrical Safety Foundation International, extension cords, undated"
CHAINSAW_GEAR = "Alabama Cooperative Extension and Virginia Tech, chainsaw protective gear, undated"
POISON_IVY = "Pages on poison ivy (wash within minutes; burning), undated"
STOVEPIPE = "A chimney supplier's pages on the NFPA 211 standard, and stove manuals, undated"
OXYGEN = "A home oxygen supplier, 2023, and Portland Fire and Rescue, on oxygen near flames"
TICKS = "US Centers for Disease Control and Prevention, by the Winston-Salem Journal, July 2019"

#: How each source is named aloud, where few words must do.
SPOKEN: Mapping[str, str] = {
    PRODUCERS_MANUAL: "the North American producers' manual",
    CONSERVATIVE: "the North American producers' manual, and Ohio State Extension",
    UMAINE_7036: "Maine Extension's bulletin on tapping",
    STATE_LEAFLETS: "state extension leaflets",
    VERMONT_CURRENT_USE: "Vermont's current-use guideline",
    WILD: "a Cornell talk on pattern tapping",
    CHABOT: "Brian Chabot of Cornell, 2013",
    LEUTY_2014: "Ontario's Ministry of Agriculture, 2014",
    USDA_HANDBOOK_134: "the Department of Agriculture's handbook of 1976",
    HOUSTON_1990: "the Forest Service's sugarbush guide of 1990",
    VAN_DEN_BERG_2016: "a Vermont growth study in Forest Science, 2016",
    NAMP_1998: "the North American Maple Project",
    STORM_DAMAGE: "the journal Northern Woodlands",
    COOK: "Vermont Extension's beginners' course",
    PMRC_YIELD_2020: "Vermont's maple research center, 2020",
    ONTARIO_2015: "Ontario's Ministry of Agriculture, 2015",
    ONTARIO_2018: "Ontario's Ministry of Agriculture, 2018",
    MAINE_SUGARMAKERS: "the Southern Maine sugarmakers' newsletter",
    UNH_FORESTRY: "New Hampshire Extension",
    OSU_PHENOLOGY: "Ohio State Extension, 2017",
    UVM_FILMS: "Vermont Extension's films",
    UMN_HOMEMADE: "Minnesota Extension",
    UMAINE_7038: "Maine Extension's quality manual",
    UVM_OFF_FLAVOUR: "the University of Vermont's off-flavor set",
    OLLEY_RATKOWSKY_1973: "a growth law for chilled food, not proved for sap",
    ONTARIO_LEAD: "Ontario's Ministry of Agriculture and Canada's food inspectors",
    ONTARIO_FOOD_GRADE: "Ontario's maple producers",
    CRC_SUCROSE: "the C R C handbook's sugar table",
    JONES_1933: "Jones of Vermont, 1933",
    VERMONT_CHART: "Vermont's density chart",
    OSU_HYDROMETERS: "Ohio State Extension's hydrometer tests",
    IF97: "the international steam tables",
    STARZAK_PEACOCK: "a published model of sugar solutions",
    RISE_7_1: "Vermont's density chart",
    US_GRADES: "the federal grade standard of 2015",
    CANADA_GRADES: "Canada's grade compendium",
    VERMONT_RULE: "Vermont's grade rule",
    NEW_YORK_RULE: "New York's grade rule",
    NEW_HAMPSHIRE_RULE: "New Hampshire's minimum, from a producer's page",
    MAINE_RULE: "Maine's producers",
    BOILING_DOWN: "Farming magazine",
    OSU_FUEL: "Ohio State Extension on fuel",
    ONTARIO_MOULD_2014: "Ontario's Ministry of Agriculture, 2014",
    CDC_CO: "the Centers for Disease Control",
    BURN_AID: "two first aid leaflets on burns",
    ICE_TESTS: "a sugar balance, and sugarmakers' own tests of ice",
    PERKINS_ZONE: "Tim Perkins of Vermont, worked out here",
    SPOUT_SEATING: "the University of Vermont on seating spouts",
    MATHEWS_2024: "a Utah study of 2024",
    HOULE_2015: "a Quebec study of 2015",
    NBS_C440: "the Bureau of Standards' sugar weights",
    ICUMSA_DENSITY: "the sugar industry's density formula",
    ICUMSA_REFRACTOMETER: "the sugar industry's refractometer table",
    PEARSON: "the food trades' mixing square",
    PRODUCT_CHART: "a printed chart of product temperatures",
    WILMOT_ENERGY: "Tim Wilmot of Vermont, and the steam tables",
    MSU_STORING: "Michigan State Extension",
    PACKING_MANUAL: "a maple production manual",
    MOULD_VIEWS: "a cooks' reference and growers' lists, which disagree",
    CANADA_LOT_CODE: "Canada's food inspectors, 2016",
    SYRUP_DEFECTS: "a published list of syrup defects, 2018",
    CORNELL_BUDDY: "Cornell's tasting laboratory",
    MAINE_117: "Maine's maple rules",
    IMSI_LEAD: "the International Maple Syrup Institute",
    ISOPROPYL: "the maple research index",
    # The handbook.
    ONTARIO_GUIDANCE: "Ontario's guidance on food grade materials",
    CFIA_MAPLE_MANUAL: "Canada's inspection manual for maple",
    ONTARIO_LEAD_TEST: "Ontario's maple producers, on lead",
    FOOD_CODE: "the federal Food Code",
    LEAD_KITS_2007: "the Consumer Product Safety Commission, 2007",
    ST_JOHN_BURNS: "St John Ambulance",
    NHS_BURNS: "a British hospital's first aid for burns",
    CO_CONNECTICUT: "Connecticut's and Tacoma's health departments",
    BLEACH_STRENGTH: "the Water Quality and Health Council",
    BLEACH_MIXING: "a safety sheet from West Virginia",
    UMAINE_MOULD_2014: "Maine Extension on mold, 2014",
    ONTARIO_PREMISES: "Ontario's rules for premises",
    FILTER_CARE: "small producers' pages on filters",
    OSU_TAPPING: "Ohio State Extension's ten steps of tapping",
    ONTARIO_TREE_HEALTH: "Ontario's maple producers, on tree health",
    WHEN_TO_TAP: "the journal Northern Woodlands",
    WISCONSIN_FOOD_SAFETY: "Wisconsin Extension, 2021",
    HEILIGMANN_CANDY: "Heiligmann of Ohio State, on candy",
    ONTARIO_CONFECTIONS: "Ontario's maple producers, on confections",
    QUEBEC_SOFT_SUGAR: "Quebec's definition of soft sugar",
    REFRACTOMETER_MAKERS: "refractometer makers' instructions",
    OSU_EVAPORATORS: "Ohio State Extension on evaporators",
    HYDROMETER_SHEETS: "hydrometer sheets, and a Vermont Extension film",
    CHIMNEY_FIRES: "a fire department's page on chimney fires",
    NFPA_PAN_FIRES: "the fire protection association, on pans of burning fat",
    SEVERE_BLEEDING: "a city's first aid sheet on bleeding",
    UNH_YIELD: "New Hampshire Extension",
    WINTER_TWIGS: "a Penn State leaflet, and a naturalist's page",
    CHABOT_COLOR: "Cornell's guide to color grading",
    CORNELL_SMALL_RO: "Cornell Small Farms, 2017",
    WILMOT_3_16: "Tim Wilmot of Vermont, on narrow tubing",
    SALE_RULES: "Wisconsin's and Maine's rules",
    SAP_SHEET: "a federal sheet on handling sap",
    OSU_FOAM: "Ohio State Extension on foam",
    BEGINNERS_LEAFLET: "a beginners' leaflet",
    ROADSIDE_TREES: "Maine's forest rangers, and a city's notice",
    CFIA_PACKING: "Canada's food inspectors, on packing",
    WOOD_MEASURED: "two newspapers' counts of wood",
    PMRC_DEPTH: "Vermont's maple research center, on depth",
    ASEPTIC_SAP: "a Vermont study of clean tapping, 1991",
    CLOTHES_FIRE: "fire departments, on clothes on fire",
    HANDS_ONLY_CPR: "the Heart Association, on pushing on the chest",
    CHOKING: "the Red Cross, on choking",
    HEART_AND_STROKE: "the heart and stroke associations",
    SWALLOWED_POISON: "two poison centers",
    EYE_INJURY: "a clinic's first aid for eyes",
    ELECTRIC_SHOCK: "an electric utility, on shocks",
    ICE_THICKNESS: "New York's guide to ice thickness",
    LIGHTNING: "the National Weather Service",
    CORD_CARE: "the electrical safety foundation",
    CHAINSAW_GEAR: "two extension services, on chainsaws",
    POISON_IVY: "pages on poison ivy",
    STOVEPIPE: "the fire protection association's chimney standard",
    OXYGEN: "a fire department and an oxygen supplier",
    TICKS: "the Centers for Disease Control, on ticks",
    "common practice": "common practice among sugarmakers",
}


#: So many of several sources are named aloud.
_MOST_NAMED = 3


def spoken(source: str) -> str:
    """Return a source, or several with ";" between, in the few words in which it is named aloud."""
    names, rest = [], source
    while rest:
        known = max(
            (one for one in SPOKEN if f"{rest}; ".startswith(f"{one}; ")), key=len, default=""
        )
        name = known or rest.split("; ")[0]
        names.append(SPOKEN.get(name, name))
        rest = rest[len(name) + len("; ") :]
    names = [*dict.fromkeys(names)]
    if len(names) > _MOST_NAMED:
        names[_MOST_NAMED:] = ["others"]
    return ", and ".join(names)
