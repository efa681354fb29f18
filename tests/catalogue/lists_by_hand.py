"""Lists written by hand before any of them was read, and the springs that a person reads in them.

None: the list leaves a question open, and nothing of it may be read. Of a spring: width, strength and length in mm, and
where it has a price, what one piece costs in minor units, and the currency. The springs are invented.
"""

from __future__ import annotations

Spring = tuple[float, float, float] | tuple[float, float, float, int, str]
LISTS: list[tuple[str, dict[str, Spring] | None]] = [
    (
        "Northgate springs list 2026;;;;;\n"
        ";;Blade;;Coil;\n"
        "Stock no;End;Width mm;Thickness mm;Length mm;Each GBP\n"
        "A1;hole;2.4;0.15;360;5.20\n"
        "A2;loop;18.0;0.36;1400;11.00\n",
        {"A1": (2.4, 0.15, 360, 520, "GBP"), "A2": (18, 0.36, 1400, 1100, "GBP")},
    ),
    (
        "Art.;Stärke x Breite x Länge (mm);VK € netto\nF1;0,15 x 2,4 x 360;5,20\nF2;0,36 x 18 x 1400;11,00\n",
        {"F1": (2.4, 0.15, 360, 520, "EUR"), "F2": (18, 0.36, 1400, 1100, "EUR")},
    ),
    (
        "Réf;Hauteur (lignes);Force (1/100 mm);Longueur (cm)\nR1;1 1/12;15;36\nR2;8;36;140\n",
        {"R1": (2.4438, 0.15, 360), "R2": (18.0464, 0.36, 1400)},
    ),
    (
        "Codice\tAltezza mm\tSpessore mm\tLunghezza mm\tPrezzo al pezzo\n"
        "I1\t2,4\t0,15\t360\t€ 5,20\n"
        "I2\t18\t0,36\t1.400\t€ 11,00\n",
        {"I1": (2.4, 0.15, 360, 520, "EUR"), "I2": (18, 0.36, 1400, 1100, "EUR")},
    ),
    (
        "Artículo;Ancho (pulg.);Grueso (pulg.);Largo (pulg.);Precio por docena €\n"
        "S1;0,75;0,014;55;60,00\n"
        "S2;1,5;0,018;96;120,00\n",
        {"S1": (19.05, 0.3556, 1397.0, 500, "EUR"), "S2": (38.1, 0.4572, 2438.4, 1000, "EUR")},
    ),
    (
        "Bestelnr|Breedte in mm|Dikte in mm|Lengte in meter|Prijs excl. BTW\n"
        "N1|18|0,36|1,4|9,10 EUR\n"
        "N2|22|0,40|1,6|10,10 EUR\n",
        {"N1": (18, 0.36, 1400, 910, "EUR"), "N2": (22, 0.4, 1600, 1010, "EUR")},
    ),
    (
        "Item,W (mm),T (mm),L (mm),1-4,5-9,10+\n"
        "T1,2.4,0.15,360,£5.20,£4.90,£4.50\n"
        "T2,18,0.36,1400,£11.00,£10.00,£9.00\n",
        {"T1": (2.4, 0.15, 360, 520, "GBP"), "T2": (18, 0.36, 1400, 1100, "GBP")},
    ),
    (
        "Item,Width (thou),Thickness (thou),Length (inches)\nH1,95,6,14.25\nH2,709,14,55\n",
        {"H1": (2.413, 0.1524, 361.95), "H2": (18.0086, 0.3556, 1397.0)},
    ),
    (
        "Item,Width No.,Strength,Length mm\nG1,12,0.15,360\nG2,14,0.17,340\n",
        None,
    ),
    (
        "Item,Width mm,Dennison,Length mm\nD1,2.4,10,360\nD2,2.5,9,380\n",
        None,
    ),
    (
        "Nr;Breite 1/10 mm;Stärke 1/100 mm;Länge mm\nZ1;24;15;360\nZ2;180;36;1400\n",
        {"Z1": (2.4, 0.15, 360), "Z2": (18, 0.36, 1400)},
    ),
    (
        'Code,Width in.,Thick. in.,Length\nE1,3/4,.014,4\' 7"\nE2,1 1/2,.018,8\'\nE3,1,.016,"6\' 6"""\n',
        {"E1": (19.05, 0.3556, 1397.0), "E2": (38.1, 0.4572, 2438.4), "E3": (25.4, 0.4064, 1981.2)},
    ),
    (
        "Item;Size\nB1;34 x 18 x 0,36 x 1400\nB2;38 x 22 x 0,40 x 1600\n",
        None,
    ),
    (
        "Item,Width,Strength,Length\nC1,18,0.36,55\nC2,22,0.40,63\n",
        None,
    ),
    (
        "Item,Length mm,Strength mm,Width mm\nX1,18,0.36,1400\nX2,22,0.40,1600\n",
        None,
    ),
    (
        "Item;Width;Strength;Length;Price\n;mm;mm;cm;CHF\nU1;2.4;0.15;36;5.20\nU2;18;0.36;140;11.–\n",
        {"U1": (2.4, 0.15, 360, 520, "CHF"), "U2": (18, 0.36, 1400, 1100, "CHF")},
    ),
    (
        "Item;Width mm;Strength;Length mm\nM1;2.4;15;360\nM2;2.5;16;380\n",
        None,
    ),
    (
        "Item;Width mm;Strength mm;Length mm\nW1;2.4;0.15;300-320\nW2;2.5;0.15-0.16;380\nW3;2.5;0.16;380\n",
        {"W3": (2.5, 0.16, 380)},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Price\nK1;2.4;0.15;360;$5.20\nK2;18;0.36;1400;$11.00\n",
        {"K1": (2.4, 0.15, 360), "K2": (18, 0.36, 1400)},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Price US$\nK1;2.4;0.15;360;5.20\nK2;18;0.36;1400;11.00\n",
        {"K1": (2.4, 0.15, 360, 520, "USD"), "K2": (18, 0.36, 1400, 1100, "USD")},
    ),
    (
        "Taschenuhrfedern (mm)\n"
        "Nr;Breite;Stärke;Länge\n"
        "P1;2,4;0,15;360\n"
        "\n"
        "Großuhrfedern\n"
        "Nr;Länge cm;Breite mm;Stärke mm;Preis EUR\n"
        "P2;140;18;0,36;11,00\n",
        {"P1": (2.4, 0.15, 360), "P2": (18, 0.36, 1400, 1100, "EUR")},
    ),
    (
        "Item,Width mm,Thickness mm,Length mm,Price (pence)\nQ1,2.4,0.15,360,520\nQ2,18,0.36,1400,1100\n",
        {"Q1": (2.4, 0.15, 360, 520, "GBP"), "Q2": (18, 0.36, 1400, 1100, "GBP")},
    ),
    (
        "Item,Width mm,Thickness mm,Length mm,Price GBP,Sold in\n"
        "J1,2.4,0.15,360,15.60,packs of 3\n"
        "J2,18,0.36,1400,11.00,singles\n",
        {"J1": (2.4, 0.15, 360, 520, "GBP"), "J2": (18, 0.36, 1400, 1100, "GBP")},
    ),
    (
        "Pos.;Artikelnummer;Abm. B/D/L in mm;Preis/Stk.\n1;AA1;2,4/0,15/360;5,20 €\n2;AA2;18/0,36/1400;11,00 €\n",
        {"AA1": (2.4, 0.15, 360, 520, "EUR"), "AA2": (18, 0.36, 1400, 1100, "EUR")},
    ),
    (
        "All dimensions in millimetres except length (inches)\n"
        "Part,Width,Thickness,Length\n"
        "BB1,18,0.36,55\n"
        "BB2,22,0.40,63\n",
        {"BB1": (18, 0.36, 1397.0), "BB2": (22, 0.4, 1600.2)},
    ),
    (
        "Toutes dimensions en lignes et douzièmes\nRéf;Largeur;Force;Longueur\nCC1;8;2;600\n",
        None,
    ),
    (
        "Cal.;Largeur;Epaisseur;Longueur\nEE1;8''';0,36 mm;1,40 m\nEE2;10''';0,40 mm;1,60 m\n",
        None,
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Preis per 100 Stk EUR\nFF1;2.4;0.15;360;520,00\n",
        {"FF1": (2.4, 0.15, 360, 520, "EUR")},
    ),
    (
        "Part No,Height (ins),Gauge (ins),Length (ft)\nGG1,0.709,0.014,4.6\nGG2,1.5,0.018,8\n",
        {"GG1": (18.0086, 0.3556, 1402.08), "GG2": (38.1, 0.4572, 2438.4)},
    ),
    (
        "Item;L x W x T mm\nHH1;360 x 2.4 x 0.15\nHH2;1400 x 18 x 0.36\n",
        {"HH1": (2.4, 0.15, 360), "HH2": (18, 0.36, 1400)},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Price ex VAT £;Price inc VAT £\nII1;2.4;0.15;360;5.00;6.00\n",
        {"II1": (2.4, 0.15, 360)},
    ),
    (
        "Nr.;Breite mm;Stärke mm;Länge mm;€ je 10 Stück\nJJ1;2,4;0,15;360;52,00\n",
        {"JJ1": (2.4, 0.15, 360, 520, "EUR")},
    ),
    (
        "Nr.;Breite mm;Stärke mm;Länge mm;Preis €\nKK1;18;0,36;1.400;1.011,00\nKK2;18;0,36;1.500;12,00\n",
        {"KK1": (18, 0.36, 1400, 101100, "EUR"), "KK2": (18, 0.36, 1500, 1200, "EUR")},
    ),
    (
        "Item;Width (mm);Thickness (µm);Length (mm)\nLL1;2.4;150;360\nLL2;18;360;1400\n",
        {"LL1": (2.4, 0.15, 360), "LL2": (18, 0.36, 1400)},
    ),
    (
        "Ref.;Ancho (1/64 de pulgada);Espesor (milésimas);Longitud (cm)\nNN1;48;14;140\n",
        None,
    ),
    (
        "Item,Width mm,Thickness mm,Length mm,Price\nOO1,2.4,0.15,360,3 for £15.60\nOO2,18,0.36,1400,£11.00 each\n",
        {"OO1": (2.4, 0.15, 360, 520, "GBP"), "OO2": (18, 0.36, 1400, 1100, "GBP")},
    ),
    (
        "Nr;Breedte (duim);Dikte (mm);Lengte (duim)\nPP1;0,75;0,36;55\n",
        {"PP1": (19.05, 0.36, 1397.0)},
    ),
    (
        "No,Width (mms),Thickness (mms),Length (cms)\nQQ1,18,.36,140\n",
        {"QQ1": (18, 0.36, 1400)},
    ),
    (
        "Art;Altezza;Forza;Lunghezza;Conf.\n;mm;cent.;mm;\nRR1;2,4;15;360;3\n",
        None,
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Preis EUR inkl. 19% MwSt\nA;2.4;0.15;360;5,20\nB;2.5;0.16;380;5,20\n",
        {"A": (2.4, 0.15, 360, 520, "EUR"), "B": (2.5, 0.16, 380, 520, "EUR")},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Preis 2026 EUR\nA;2.4;0.15;360;5,20\nB;2.5;0.16;380;5,20\n",
        {"A": (2.4, 0.15, 360, 520, "EUR"), "B": (2.5, 0.16, 380, 520, "EUR")},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Prix TTC (TVA 20%)\nA;2.4;0.15;360;5,20 €\nB;2.5;0.16;380;5,20 €\n",
        {"A": (2.4, 0.15, 360, 520, "EUR"), "B": (2.5, 0.16, 380, 520, "EUR")},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;PU HT\nA;2.4;0.15;360;5,20 €\nB;2.5;0.16;380;5,20 €\n",
        {"A": (2.4, 0.15, 360, 520, "EUR"), "B": (2.5, 0.16, 380, 520, "EUR")},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Listino €/pz\nA;2.4;0.15;360;5,20\nB;2.5;0.16;380;5,20\n",
        {"A": (2.4, 0.15, 360, 520, "EUR"), "B": (2.5, 0.16, 380, 520, "EUR")},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Prezzo conf. da 10 EUR\nA;2.4;0.15;360;52,00\nB;2.5;0.16;380;52,00\n",
        {"A": (2.4, 0.15, 360, 520, "EUR"), "B": (2.5, 0.16, 380, 520, "EUR")},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Precio c/u\nA;2.4;0.15;360;5,20 €\nB;2.5;0.16;380;5,20 €\n",
        {"A": (2.4, 0.15, 360, 520, "EUR"), "B": (2.5, 0.16, 380, 520, "EUR")},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Precio docena EUR\nA;2.4;0.15;360;62,40\nB;2.5;0.16;380;62,40\n",
        {"A": (2.4, 0.15, 360, 520, "EUR"), "B": (2.5, 0.16, 380, 520, "EUR")},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Prijs per 5 stuks EUR\nA;2.4;0.15;360;26,00\nB;2.5;0.16;380;26,00\n",
        {"A": (2.4, 0.15, 360, 520, "EUR"), "B": (2.5, 0.16, 380, 520, "EUR")},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;RRP £\nA;2.4;0.15;360;5.20\nB;2.5;0.16;380;5.20\n",
        {"A": (2.4, 0.15, 360, 520, "GBP"), "B": (2.5, 0.16, 380, 520, "GBP")},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Preis\nA;2.4;0.15;360;3er-Pack 15,60 €\nB;2.5;0.16;380;3er-Pack 15,60 €\n",
        {"A": (2.4, 0.15, 360, 520, "EUR"), "B": (2.5, 0.16, 380, 520, "EUR")},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Preis (VPE 10) EUR\nA;2.4;0.15;360;52,00\nB;2.5;0.16;380;52,00\n",
        {"A": (2.4, 0.15, 360, 520, "EUR"), "B": (2.5, 0.16, 380, 520, "EUR")},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Price\nA;2.4;0.15;360;US$ 5.20\nB;2.5;0.16;380;US$ 5.20\n",
        {"A": (2.4, 0.15, 360, 520, "USD"), "B": (2.5, 0.16, 380, 520, "USD")},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Price\nA;2.4;0.15;360;86p\nB;2.5;0.16;380;86p\n",
        {"A": (2.4, 0.15, 360, 86, "GBP"), "B": (2.5, 0.16, 380, 86, "GBP")},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Price GBP\nA;2.4;0.15;360;5.200000001\nB;2.5;0.16;380;5.200000001\n",
        {"A": (2.4, 0.15, 360, 520, "GBP"), "B": (2.5, 0.16, 380, 520, "GBP")},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Price GBP\nA;2.4;0.15;360;(5.20)\nB;2.5;0.16;380;(5.20)\n",
        {"A": (2.4, 0.15, 360), "B": (2.5, 0.16, 380)},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Price GBP\nA;2.4;0.15;360;5.20-\nB;2.5;0.16;380;5.20-\n",
        {"A": (2.4, 0.15, 360), "B": (2.5, 0.16, 380)},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Price each (min. order 10) GBP\n"
        "A;2.4;0.15;360;5.20\n"
        "B;2.5;0.16;380;5.20\n",
        {"A": (2.4, 0.15, 360, 520, "GBP"), "B": (2.5, 0.16, 380, 520, "GBP")},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Preis je VE (5 Stück) EUR\nA;2.4;0.15;360;26,00\nB;2.5;0.16;380;26,00\n",
        {"A": (2.4, 0.15, 360, 520, "EUR"), "B": (2.5, 0.16, 380, 520, "EUR")},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Tarif 2026 € HT le lot de 3\nA;2.4;0.15;360;15,60\nB;2.5;0.16;380;15,60\n",
        {"A": (2.4, 0.15, 360, 520, "EUR"), "B": (2.5, 0.16, 380, 520, "EUR")},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Price GBP ex VAT at 20%\nA;2.4;0.15;360;5.20\nB;2.5;0.16;380;5.20\n",
        {"A": (2.4, 0.15, 360, 520, "GBP"), "B": (2.5, 0.16, 380, 520, "GBP")},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Price SFr.\nA;2.4;0.15;360;5.20\nB;2.5;0.16;380;5.20\n",
        {"A": (2.4, 0.15, 360, 520, "CHF"), "B": (2.5, 0.16, 380, 520, "CHF")},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Prix (CHF) la douzaine\nA;2.4;0.15;360;62.40\nB;2.5;0.16;380;62.40\n",
        {"A": (2.4, 0.15, 360, 520, "CHF"), "B": (2.5, 0.16, 380, 520, "CHF")},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Price per 1,000 GBP\nA;2.4;0.15;360;5200.00\nB;2.5;0.16;380;5200.00\n",
        {"A": (2.4, 0.15, 360, 520, "GBP"), "B": (2.5, 0.16, 380, 520, "GBP")},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Cost/3\nA;2.4;0.15;360;£15.60\nB;2.5;0.16;380;£15.60\n",
        {"A": (2.4, 0.15, 360, 520, "GBP"), "B": (2.5, 0.16, 380, 520, "GBP")},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Discount 10% price GBP\nA;2.4;0.15;360;5.20\nB;2.5;0.16;380;5.20\n",
        {"A": (2.4, 0.15, 360, 520, "GBP"), "B": (2.5, 0.16, 380, 520, "GBP")},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Preis ab 10 Stk.\nA;2.4;0.15;360;5,20 €\nB;2.5;0.16;380;5,20 €\n",
        {"A": (2.4, 0.15, 360, 520, "EUR"), "B": (2.5, 0.16, 380, 520, "EUR")},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Price (10+) £\nA;2.4;0.15;360;5.20\nB;2.5;0.16;380;5.20\n",
        {"A": (2.4, 0.15, 360, 520, "GBP"), "B": (2.5, 0.16, 380, 520, "GBP")},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Rabatt %\nA;2.4;0.15;360;10\nB;2.5;0.16;380;10\n",
        {"A": (2.4, 0.15, 360), "B": (2.5, 0.16, 380)},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Weight g\nA;2.4;0.15;360;5.2\nB;2.5;0.16;380;5.2\n",
        {"A": (2.4, 0.15, 360), "B": (2.5, 0.16, 380)},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Delivery days\nA;2.4;0.15;360;5\nB;2.5;0.16;380;5\n",
        {"A": (2.4, 0.15, 360), "B": (2.5, 0.16, 380)},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Price, per packet of 6, in £\n"
        "A;2.4;0.15;360;31.20\n"
        "B;2.5;0.16;380;31.20\n",
        {"A": (2.4, 0.15, 360, 520, "GBP"), "B": (2.5, 0.16, 380, 520, "GBP")},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Preis in Cent\nA;2.4;0.15;360;520\nB;2.5;0.16;380;520\n",
        # cents of which currency nobody says: it is asked for
        {"A": (2.4, 0.15, 360, 520, ""), "B": (2.5, 0.16, 380, 520, "")},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Cents (US)\nA;2.4;0.15;360;520\nB;2.5;0.16;380;520\n",
        {"A": (2.4, 0.15, 360, 520, "USD"), "B": (2.5, 0.16, 380, 520, "USD")},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;£ s d\nA;2.4;0.15;360;0/10/6\nB;2.5;0.16;380;0/10/6\n",
        {"A": (2.4, 0.15, 360), "B": (2.5, 0.16, 380)},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Old price GBP\nA;2.4;0.15;360;5.20\nB;2.5;0.16;380;5.20\n",
        {"A": (2.4, 0.15, 360), "B": (2.5, 0.16, 380)},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Bruttopreis/Dtzd. €\nA;2.4;0.15;360;62,40\nB;2.5;0.16;380;62,40\n",
        {"A": (2.4, 0.15, 360, 520, "EUR"), "B": (2.5, 0.16, 380, 520, "EUR")},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Price 2 pcs £\nA;2.4;0.15;360;10.40\nB;2.5;0.16;380;10.40\n",
        {"A": (2.4, 0.15, 360, 520, "GBP"), "B": (2.5, 0.16, 380, 520, "GBP")},
    ),
    (
        "Item;Width 1/16 in;Thickness 1/1000 in;Length in\nA;12;14;55\nB;24;18;96\n",
        {"A": (19.05, 0.3556, 1397.0), "B": (38.1, 0.4572, 2438.4)},
    ),
    (
        "Item;Width m/m;Strength m/m;Length c/m\nA;2.4;0.15;36\nB;18;0.36;140\n",
        {"A": (2.4, 0.15, 360), "B": (18, 0.36, 1400)},
    ),
    (
        "Item;Width old English gauge;Strength;Length in\nA;6;0.15;14\nB;8;0.16;15\n",
        None,
    ),
    (
        "Réf.;Hauteur n°;Force;Longueur mm\nA;6;0.15;360\nB;8;0.16;380\n",
        None,
    ),
    (
        "Nr.;Breite Nr.;Stärke mm;Länge mm\nA;6;0.15;360\nB;8;0.16;380\n",
        None,
    ),
    (
        "Item;Width 12ths;Strength mm;Length mm\nA;13;0.15;360\nB;14;0.16;380\n",
        None,
    ),
    (
        "Item;Height (hundredths);Force;Length\nA;240;15;360\nB;250;16;380\n",
        None,
    ),
    (
        "Item;Larghezza pollici;Spessore mm;Lunghezza m\nA;0,75;0,36;1,4\n",
        {"A": (19.05, 0.36, 1400)},
    ),
    (
        "Item;W;T;L;Units\nA;2.4;0.15;360;mm\nB;.75;.014;55;in\n",
        {"A": (2.4, 0.15, 360), "B": (19.05, 0.3556, 1397.0)},
    ),
    (
        "Item;Size\nA;0.75 x .014 x 55\nB;1.5 x .018 x 96\n",
        None,
    ),
    (
        "Item;Width;Thickness;Length\nA;96”;0.36;1400\n",
        None,
    ),
    (
        "Item;Width mm;Strength mm;Length\nA;18;0.36;55”\nB;22;0.40;5' 3\"\n",
        {"A": (18, 0.36, 1397.0), "B": (22, 0.4, 1600.2)},
    ),
    (
        "Item;Width mm;Strength mm;Length (coils)\nA;18;0.36;14\nB;22;0.40;15\n",
        None,
    ),
    (
        "Item;Inside diameter mm;Width mm;Strength mm;Length mm\nA;38;18;0.36;1400\n",
        {"A": (18, 0.36, 1400)},
    ),
    (
        "Item;Width mm;Force g;Length mm\nA;2.4;15;360\n",
        None,
    ),
    (
        "Item;Width mm;Strength (0.01mm);Length (cm)\nA;2.4;15;36\nB;18;36;140\n",
        {"A": (2.4, 0.15, 360), "B": (18, 0.36, 1400)},
    ),
    (
        "Sizes are in mm unless marked;;;\nItem;Width;Strength;Length\nA;18;.36;1400\nB;22;.40;63 in\n",
        {"A": (18, 0.36, 1400), "B": (22, 0.4, 1600.2)},
    ),
    (
        "Item;Width mm;Strength mm;Length mm;Length in\nA;18;.36;1400;55.1\n",
        {"A": (18, 0.36, 1400)},
    ),
    (
        "Item;Width mm / in;Strength mm / in;Length mm / in\nA;18;.36;1400\n",
        None,
    ),
    (
        "Item;Width (mm);Strength;Length\nA;18;.36;1400\n",
        {"A": (18, 0.36, 1400)},
    ),
    (
        'Item;"Width\n(in)";"Strength\n(in)";"Length\n(in)"\nA;.75;.014;55\n',
        {"A": (19.05, 0.3556, 1397.0)},
    ),
    (
        "Item;Width (tenths of a mm);Strength;Length\nA;180;.36;1400\nB;220;.40;1600\n",
        {"A": (18, 0.36, 1400), "B": (22, 0.4, 1600)},
    ),
    (
        "Item;Ancho en líneas;Espesor mm;Largo mm\nA;8;.36;1400\n",
        None,
    ),
]
