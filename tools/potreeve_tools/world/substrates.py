"""The mixes the simulated rig knows. Every number says where it comes from.

No published van Genuchten set for bagged peat, coir or bark mixes was found.
Their retention parameters below are therefore OUR FIT: theta_s and theta_r were
chosen, then alpha and n solved by least squares so that the curve meets the
water contents named beside them, which lie inside published ranges. The tests
hold the curves to those ranges.
"""

from .substrate import Figure, Substrate

DE_BOODT = "De Boodt & Verdonck 1972, Acta Hort. 26:37-44: air 20-30 %, EAW 20-30 %, WBC 4-10 %"

PEAT_MIX = Substrate(
    name="peat_mix",
    theta_r=Figure(0.06, "ours", "driest the model's peat gets; also its air-dry anchor"),
    theta_s=Figure(0.80, "V", "solids 20-30 % of volume in peat mixes (Fisher, gpnmag); the wetter end"),
    alpha_per_cm=Figure(0.198, "ours", "fit to .55/.31/.25 at 1/5/10 kPa, inside " + DE_BOODT),
    n=Figure(1.46, "ours", "same fit; inside 1.3-1.7"),
    theta_wilting=Figure(0.20, "V-abs", "below .20 water largely unavailable: van Iersel et al. 2010, HortScience"),
    theta_repel=Figure(0.25, "ours", "where the water buffer ends (10 kPa); well below a tended pot's refill"),
    theta_repel_full=Figure(0.12, "ours", "the curve's content at about 0.1 MPa"),
    bypass=Figure(0.90, "ours", "very dry peat lets most of the water run through; no share was found published"),
    loss=Figure(0.215, "V-abs", "21.5 vol-% after one dry-wet cycle: Bartley et al. 2023, HortScience 58(1):79-83"),
    swells_from=Figure(1.0, "ours", "bagged mix, already moist when potted"),
)

COIR = Substrate(
    name="coir",
    theta_r=Figure(0.10, "ours", "driest the model's coir gets; also its air-dry anchor"),
    theta_s=Figure(
        0.88, "ours", "total porosity above 94 % (Abad et al. 2005, HortScience 40(7), V-abs) less trapped air"
    ),
    alpha_per_cm=Figure(0.285, "ours", "fit to .60/.38/.33 at 1/5/10 kPa; air 24-89 %, EAW 1-36 % in Abad et al. 2005"),
    n=Figure(1.37, "ours", "same fit"),
    theta_wilting=Figure(
        0.32, "V-abs", "unwatered fell to about 32 % = wilting: Costa Rica trial 2015, Agron. Costarricense"
    ),
    theta_repel=Figure(0.16, "ours", "coir stays wettable: Schulker et al. 2021, Agronomy 11(7):1355, V-abs"),
    theta_repel_full=Figure(0.10, "ours", "as above"),
    bypass=Figure(0.30, "ours", "as above: coir lost little"),
    loss=Figure(0.02, "ours", "as above: 'little' read as 2 vol-%"),
    swells_from=Figure(1.0, "ours", "loose coir"),
)

COIR_PELLET = Substrate(
    name="coir_pellet",
    theta_r=COIR.theta_r,
    theta_s=COIR.theta_s,
    alpha_per_cm=COIR.alpha_per_cm,
    n=COIR.n,
    theta_wilting=COIR.theta_wilting,
    theta_repel=COIR.theta_repel,
    theta_repel_full=COIR.theta_repel_full,
    bypass=COIR.bypass,
    loss=COIR.loss,
    swells_from=Figure(0.25, "M", "pressed discs swell roughly fourfold; from memory"),
)

BARK_MIX = Substrate(
    name="bark_mix",
    theta_r=Figure(0.05, "ours", "driest the model's bark gets; also its air-dry anchor"),
    theta_s=Figure(0.75, "ours", "within 50-85 % total porosity for nursery mixes"),
    alpha_per_cm=Figure(0.449, "ours", "fit through .48 at 1 kPa and near .38 at 4 kPa, .17 at 69 kPa (next line)"),
    n=Figure(
        1.28, "ours", "O'Meara, Chappell, van Iersel 2014, HortScience 49(4):493: .38 to .17 for 4 to 69 kPa, V-abs"
    ),
    theta_wilting=Figure(0.20, "ours", "read from the same paper: conductivity has collapsed by .17"),
    theta_repel=Figure(
        0.25, "ours", "milled pine bark sheds water when dry, threshold near .35 (HortScience 13:432, V-abs)"
    ),
    theta_repel_full=Figure(0.12, "ours", "as for peat"),
    bypass=Figure(0.70, "ours", "between peat and coir"),
    loss=Figure(0.075, "V-abs", "bark lost 5-10 %: Schulker et al. 2021; the middle taken"),
    swells_from=Figure(1.0, "ours", "bark keeps its volume"),
)

LOAM_RECIPE = (
    "7 parts loam, 3 peat, 2 sand by volume (the British loam-based potting compost, V), of loam and sand of Carsel & "
    "Parrish 1988, Water Resour. Res. 24(5), Table 2 (V-2nd), and the peat mix above"
)
LOAM_MIX = Substrate(
    name="loam_mix",
    theta_r=Figure(0.068, "D", LOAM_RECIPE),
    theta_s=Figure(0.522, "D", LOAM_RECIPE),
    alpha_per_cm=Figure(0.121, "D", "fit to the recipe's mean curve, 0 to 1000 cm, within .007; " + LOAM_RECIPE),
    n=Figure(1.47, "D", "same fit"),
    theta_wilting=Figure(0.109, "D", "the recipe's mean: loam at 15,000 cm (.088), peat's .20, sand .045"),
    theta_repel=Figure(0.10, "ours", "loam composts rewet easily (makers say, V): below all a plant can reach"),
    theta_repel_full=Figure(0.07, "ours", "as above"),
    bypass=Figure(0.30, "ours", "as coir: no figure found"),
    loss=Figure(0.02, "ours", "as coir"),
    swells_from=Figure(1.0, "ours", "keeps its volume"),
)

SUBSTRATES = {mix.name: mix for mix in (PEAT_MIX, COIR, COIR_PELLET, BARK_MIX, LOAM_MIX)}
