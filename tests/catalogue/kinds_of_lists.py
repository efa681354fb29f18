"""Suppliers' lists of all kinds, made from springs that are known: a list, and what is true of each of its rows.

Kinds × languages × units × prices × layouts, by the number of a seed. The words are of this file and not of the
reader's; what a row is, is known from how it was made, so the reader is held against something it had no part in.
"""

from __future__ import annotations

import csv
import io
import random
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Any

INCH = Fraction(254, 10)
LIGNE = Fraction(1_000_000, 443_296)


@dataclass(slots=True)
class Truth:
    """What is true of one row: sizes in mm, price in minor units for so many pieces (None: nobody can know).

    readable: whether a careful person could read the row's sizes from the list. A row that is not may be refused with
    its list or rejected; it is never to be read wrong.
    """

    item: str
    width: float
    strength: float
    length: float
    price: tuple[int, str, int] | None
    readable: bool = True
    priced: bool = True  # whether a careful person could read the price


@dataclass(slots=True)
class MadeList:
    """A list: its file's bytes and name, what is true of it, and how it was made."""

    name: str
    content: bytes
    rows: list[Truth]
    made: dict[str, str] = field(default_factory=dict)

    def write(self, folder: Path) -> Path:
        path = folder / self.name
        path.write_bytes(self.content)
        return path


@dataclass(slots=True)
class Grid:
    """Rows of cells, how many columns there are, and what is true of the springs among them."""

    rows: list[list[str]]
    width: int
    truths: list[Truth]
    groups: bool = False  # whether numbers have marks between thousands


# ------------------------------------------------------------------------------------------------ words, by language
Phrases = dict[str, list[str]]
ENGLISH: Phrases = {
    "item": ["Item", "Item no.", "Code", "Part no.", "Cat. No.", "Stock code", "Ref.", "Order number", "Article",
     "SKU", "Stk no.", "Art.", "Model"],
    "width": ["Width", "Blade width", "Height", "Spring width", "W", "Width of spring", "Wdth"],
    "strength": ["Strength", "Thickness", "Blade thickness", "T", "Thk", "Spring strength", "Thickn."],
    "length": ["Length", "Blade length", "L", "Lgth", "Spring length", "Len."],
    "sizes": ["Size", "Dimensions", "Width x thickness x length", "W x T x L", "Sizes", "Measurements"],
    "price": ["Price", "Unit price", "Price each", "Cost", "List price", "Trade price", "RRP"],
    "pack": ["Pack", "Pack size", "Per pack", "Qty/pkt", "Sold in", "Pack qty"],
    "stock": ["Stock", "In stock", "Qty", "Availability", "On hand"],
    "end": ["End", "Ends", "Outer end", "Hooking"],
    "note": ["Note", "Remarks", "Comments"],
    "currency": ["Currency", "Ccy"],
    "barrel": ["Barrel diameter", "Barrel", "Barrel bore"],
    "in": ["in"], "and": ["and"], "all": ["All sizes in {u}", "Dimensions in {u}",
     "All measurements in {u} unless stated", "Sizes: {u}"],
    "each_size": ["Width in {w}, thickness in {s}, length in {l}"],
    "title": ["Price list 2026 (invented)", "Mainsprings", "Supplier North", "Springs for watches of 8 to 19 lignes",
     "valid from 1 March 2026"],
    "section": ["Clock springs", "Watch springs", "Alarm clock springs", "New this year"],
    "total": ["Total", "Grand total"], "footer": ["Prices subject to change", "Thank you for your order"],
    "mm": ["mm", "mm.", "millimetres"], "cm": ["cm", "cms", "centimetres"], "m": ["m", "metres"],
     "hundredth": ["1/100 mm", "hundredths of a mm", "0.01 mm"],
    "tenth": ["1/10 mm", "tenths of a mm"], "inch": ["in", "inches", "ins.", '"', "inch"],
     "thou": ["thou", "1/1000 in", "thousandths of an inch"],
    "ligne": ["lignes", "ligne", "‴"], "um": ["µm", "microns"], "ft": ["feet", "ft"],
    "doubt": ["lines", "points", "old gauge", "No.", "number", "pts", "grades", "English gauge"],
    "without_tax": ["ex VAT", "excl. VAT", "net"], "with_tax": ["inc VAT", "incl. 20% VAT"],
    "dozen": ["per dozen", "/doz"], "piece": ["each", "per piece", "ea."], "ask": ["POA", "on request", "call"],
    "hole": ["hole", "hook", "loop"], "none": ["out of stock", "sold out", "0", "none"],
     "some": ["yes", "in stock", "3", "12", "5 pcs", "10+"],
    "ten": ["Price per 10", "Price/10", "Price for 10 pcs"], "pack_of": ["pack of {n}", "{n}-pack", "{n} pcs"],
    "tiers": ["1-9|10-24|25+", "1+|10+|50+", "from 1|from 10|from 25"],
     "numbers": ["Width No.", "Strength no.", "Gauge"],
}  # fmt: skip
GERMAN: Phrases = {
    "item": ["Art.-Nr.", "Artikelnummer", "Bestellnummer", "Best.-Nr.", "Artikel", "Nr.", "Kat.-Nr.", "Artikel-Nr.",
     "Modell", "Teile-Nr."],
    "width": ["Breite", "Höhe", "Federbreite", "Klingenhöhe", "B", "Klingenbreite", "Federhöhe"],
    "strength": ["Stärke", "Dicke", "Federstärke", "Klingenstärke", "S", "Federdicke"],
    "length": ["Länge", "Federlänge", "L", "Klingenlänge", "Laenge"],
    "sizes": ["Maße", "Abmessungen", "Breite x Stärke x Länge", "B x S x L", "Federmaße", "Höhe x Stärke x Länge"],
    "price": ["Preis", "Stückpreis", "Einzelpreis", "VK", "Listenpreis", "UVP", "Nettopreis"],
    "pack": ["VPE", "Packung", "Verpackungseinheit", "Stück pro Packung", "VE"],
    "stock": ["Bestand", "Lager", "Verfügbar", "Menge", "Lagerbestand"],
    "end": ["Ende", "Federende", "Aufhängung"], "note": ["Bemerkung", "Hinweis", "Anmerkung"], "currency": ["Währung"],
    "barrel": ["Federhaus", "Federhaus-Ø", "Federhausdurchmesser"],
    "in": ["in"], "and": ["und"], "all": ["Alle Maße in {u}", "Maße in {u}", "Angaben in {u}", "Abmessungen in {u}"],
    "each_size": ["Breite in {w}, Stärke in {s}, Länge in {l}"],
    "title": ["Preisliste 2026 (erfunden)", "Aufzugfedern", "Zugfedern für Groß- und Kleinuhren",
     "gültig ab 1. 3. 2026"],
    "section": ["Großuhrfedern", "Taschenuhrfedern", "Weckerfedern"], "total": ["Summe", "Gesamt"],
     "footer": ["Irrtum vorbehalten", "Preise freibleibend"],
    "mm": ["mm", "Millimeter"], "cm": ["cm", "Zentimeter"], "m": ["m", "Meter"],
     "hundredth": ["1/100 mm", "Hundertstel mm", "1/100", "0,01 mm"],
    "tenth": ["1/10 mm", "Zehntel mm"], "inch": ["Zoll", "inch", '"'], "thou": ["1/1000 Zoll", "thou"],
     "ligne": ["Pariser Linien", "ligne", "‴"], "um": ["µm"],
    "ft": ["ft"], "doubt": ["Linien", "Punkte", "Nr.", "Lehre", "Grad", "Fuß", "Nummer"],
    "without_tax": ["netto", "zzgl. MwSt", "exkl. MwSt."], "with_tax": ["inkl. 19% MwSt", "brutto", "inkl. MwSt."],
    "dozen": ["je Dutzend", "/Dtzd."], "piece": ["je Stück", "/St.", "pro Stück"], "ask": ["auf Anfrage", "n. a."],
    "hole": ["Loch", "Haken", "Öse"], "none": ["ausverkauft", "nicht auf Lager", "0", "vergriffen"],
     "some": ["ja", "auf Lager", "3", "12 St.", "5 Stück"],
    "ten": ["Preis je 10 Stück", "Preis/10 St.", "Preis pro 10"], "pack_of": ["{n}er-Pack", "Pkg. à {n}", "{n} Stk."],
    "tiers": ["1-9|10-24|25+", "ab 1|ab 10|ab 25", "ab 1 St.|ab 10 St.|ab 50 St."],
     "numbers": ["Breite Nr.", "Stärke Nr.", "Federlehre"],
}  # fmt: skip
FRENCH: Phrases = {
    "item": ["Référence", "Réf.", "Code article", "N° d'article", "Article", "Code", "Réf. article", "Modèle"],
    "width": ["Largeur", "Hauteur", "Largeur de lame", "Larg.", "Haut.", "H"],
    "strength": ["Épaisseur", "Force", "Ép.", "Épaisseur de lame", "F", "Épais."],
    "length": ["Longueur", "Long.", "Longueur de lame", "L"],
    "sizes": ["Dimensions", "Hauteur x force x longueur", "Cotes", "H x F x L", "Mesures"],
    "price": ["Prix", "Prix unitaire", "PU", "Tarif", "Prix public", "P.U."],
    "pack": ["Conditionnement", "Colisage", "Par paquet", "Cond.", "Lot"],
    "stock": ["Stock", "En stock", "Disponibilité", "Qté", "Dispo"],
    "end": ["Bout", "Accrochage", "Attache"], "note": ["Remarque", "Observations"], "currency": ["Devise"],
     "barrel": ["Barillet", "Diamètre barillet"],
    "in": ["en"], "and": ["et"], "all": ["Dimensions en {u}", "Toutes les cotes en {u}", "Mesures en {u}"],
    "each_size": ["Hauteur en {w}, force en {s}, longueur en {l}"],
    "title": ["Tarif 2026 (inventé)", "Ressorts de montres et de pendules", "Ressorts moteurs", "Tarif au 01/03/2026"],
    "section": ["Ressorts de pendule", "Ressorts de montre"], "total": ["Total"],
     "footer": ["Prix sans engagement", "Merci"],
    "mm": ["mm", "m/m", "millimètres"], "cm": ["cm", "centimètres", "c/m"], "m": ["m", "mètres"],
     "hundredth": ["1/100 mm", "centièmes", "centièmes de mm", "1/100e"],
    "tenth": ["1/10 mm", "dixièmes", "dixièmes de mm"], "inch": ["pouces", "pouce"], "thou": ["1/1000 pouce"],
     "ligne": ["lignes", "‴"], "um": ["µm", "microns"],
    "ft": ["ft"], "doubt": ["points", "n°", "jauge", "pieds", "degrés"],
    "without_tax": ["HT", "hors taxes", "hors TVA"], "with_tax": ["TTC", "TVA 20 % incluse"],
    "dozen": ["la douzaine", "par douzaine"], "piece": ["la pièce", "l'unité", "par pièce"],
     "ask": ["sur demande", "nous consulter"],
    "hole": ["trou", "crochet"], "none": ["épuisé", "rupture de stock", "0", "non"],
     "some": ["oui", "en stock", "3", "4 pièces"],
    "ten": ["Prix les 10", "Prix par 10", "Prix pour 10 pièces"],
     "pack_of": ["lot de {n}", "paquet de {n}", "{n} pièces"],
    "tiers": ["1-9|10-24|25+", "à partir de 1|à partir de 10|à partir de 25"],
     "numbers": ["Hauteur n°", "Force n°", "Jauge"],
}  # fmt: skip
ITALIAN: Phrases = {
    "item": ["Codice", "Cod. articolo", "Articolo", "Codice articolo", "Cod.", "Riferimento", "Rif.", "Modello",
     "N. articolo"],
    "width": ["Larghezza", "Altezza", "Largh.", "Altezza lama", "Larghezza molla", "H"],
    "strength": ["Spessore", "Forza", "Spess.", "Spessore lama", "S"],
    "length": ["Lunghezza", "Lungh.", "Lunghezza lama", "L"],
    "sizes": ["Misure", "Dimensioni", "Larghezza x spessore x lunghezza", "Misura"],
    "price": ["Prezzo", "Prezzo unitario", "Listino", "Prezzo di listino", "Costo"],
     "pack": ["Confezione", "Conf.", "Pz/conf."],
    "stock": ["Giacenza", "Disponibilità", "Quantità", "Disponibile"], "end": ["Attacco", "Terminale"],
     "note": ["Note", "Osservazioni"], "currency": ["Valuta"],
    "barrel": ["Bariletto", "Diametro bariletto"], "in": ["in"], "and": ["e"],
     "all": ["Misure in {u}", "Tutte le misure in {u}", "Dimensioni in {u}"],
    "each_size": ["Altezza in {w}, spessore in {s}, lunghezza in {l}"],
     "title": ["Listino 2026 (inventato)", "Molle per orologi", "Molle da carica"],
    "section": ["Molle per pendole", "Molle per orologi da tasca"], "total": ["Totale"],
     "footer": ["Prezzi senza impegno"],
    "mm": ["mm", "millimetri"], "cm": ["cm", "centimetri"], "m": ["m", "metri"],
     "hundredth": ["1/100 mm", "centesimi di mm", "centesimi"], "tenth": ["1/10 mm", "decimi di mm", "decimi"],
    "inch": ["pollici", "pollice"], "thou": ["millesimi di pollice"], "ligne": ["ligne", "‴"], "um": ["µm", "micron"],
     "ft": ["ft"],
    "doubt": ["linee", "punti", "n.", "numero", "gradi"], "without_tax": ["IVA esclusa", "+ IVA"],
     "with_tax": ["IVA inclusa", "IVA compresa"],
    "dozen": ["alla dozzina", "per dozzina"], "piece": ["cad.", "cadauno", "al pezzo"], "ask": ["su richiesta"],
     "hole": ["foro", "gancio"],
    "none": ["esaurito", "non disponibile", "0"], "some": ["si", "disponibile", "3", "5 pz"],
     "ten": ["Prezzo per 10", "Prezzo per 10 pz"],
    "pack_of": ["conf. da {n}", "{n} pz", "confezione da {n}"], "tiers": ["1-9|10-24|25+", "da 1|da 10|da 25"],
     "numbers": ["Altezza n.", "Forza n.", "Spessore n."],
}  # fmt: skip
SPANISH: Phrases = {
    "item": ["Referencia", "Código", "Ref.", "Artículo", "Cód.", "N.º artículo", "Modelo"],
     "width": ["Ancho", "Anchura", "Altura", "Ancho de hoja"],
    "strength": ["Espesor", "Grosor", "Fuerza", "Esp.", "Grueso"], "length": ["Largo", "Longitud", "Long.", "L"],
    "sizes": ["Medidas", "Dimensiones", "Ancho x espesor x largo", "Tamaño"],
     "price": ["Precio", "Precio unitario", "PVP", "Tarifa", "Importe"],
    "pack": ["Paquete", "Envase", "Uds./paquete"], "stock": ["Existencias", "Stock", "Disponible", "Cantidad"],
     "end": ["Extremo", "Enganche"],
    "note": ["Observaciones", "Notas"], "currency": ["Moneda"], "barrel": ["Cubo", "Diámetro del cubo"], "in": ["en"],
     "and": ["y"],
    "all": ["Medidas en {u}", "Todas las medidas en {u}", "Dimensiones en {u}"],
     "each_size": ["Ancho en {w}, espesor en {s}, largo en {l}"],
    "title": ["Tarifa 2026 (inventada)", "Muelles reales", "Cuerdas para relojes"],
     "section": ["Muelles de pared", "Muelles de bolsillo"], "total": ["Total"],
    "footer": ["Precios sin compromiso"], "mm": ["mm", "milímetros"], "cm": ["cm", "centímetros"], "m": ["m", "metros"],
    "hundredth": ["1/100 mm", "centésimas de mm", "centésimas"], "tenth": ["1/10 mm", "décimas de mm", "décimas"],
     "inch": ["pulgadas", "pulg."], "thou": ["milésimas de pulgada"],
    "ligne": ["ligne", "‴"], "um": ["µm", "micras"], "ft": ["ft"],
     "doubt": ["líneas", "puntos", "n.º", "galga", "pies"],
    "without_tax": ["sin IVA", "IVA no incluido", "+ IVA"], "with_tax": ["IVA incluido", "con IVA"],
     "dozen": ["por docena", "la docena"],
    "piece": ["por unidad", "c/u", "ud."], "ask": ["consultar"], "hole": ["agujero", "gancho"],
     "none": ["agotado", "sin stock", "0"],
    "some": ["sí", "disponible", "3", "4 uds"], "ten": ["Precio por 10", "Precio por 10 uds"],
     "pack_of": ["paquete de {n}", "{n} uds"],
    "tiers": ["1-9|10-24|25+", "desde 1|desde 10|desde 25"], "numbers": ["Altura n.º", "Fuerza n.º", "Galga"],
}  # fmt: skip
DUTCH: Phrases = {
    "item": ["Artikelnummer", "Artikelnr.", "Bestelnummer", "Art.nr.", "Artikel", "Code", "Bestelnr.", "Artikelcode",
     "Model"],
    "width": ["Breedte", "Hoogte", "Veerbreedte", "B", "Bladbreedte"],
     "strength": ["Dikte", "Sterkte", "Veerdikte", "D"], "length": ["Lengte", "Veerlengte", "L"],
    "sizes": ["Afmetingen", "Maat", "Breedte x dikte x lengte", "Maten", "B x D x L"],
     "price": ["Prijs", "Stuksprijs", "Prijs per stuk", "Adviesprijs", "Eenheidsprijs"],
    "pack": ["Verpakking", "VPE", "Per verpakking", "Stuks per verpakking"],
     "stock": ["Voorraad", "Op voorraad", "Aantal", "Beschikbaar"], "end": ["Uiteinde", "Bevestiging"],
    "note": ["Opmerking"], "currency": ["Valuta"], "barrel": ["Veerton", "Diameter veerton"], "in": ["in"],
     "and": ["en"],
    "all": ["Maten in {u}", "Alle afmetingen in {u}", "Afmetingen in {u}"],
     "each_size": ["Breedte in {w}, dikte in {s}, lengte in {l}"],
    "title": ["Prijslijst 2026 (verzonnen)", "Veren voor klokken en horloges", "Opwindveren"],
     "section": ["Klokveren", "Horlogeveren"], "total": ["Totaal"], "footer": ["Prijzen onder voorbehoud"],
    "mm": ["mm", "millimeter"], "cm": ["cm", "centimeter"], "m": ["m", "meter"],
     "hundredth": ["1/100 mm", "honderdsten mm", "honderdsten"], "tenth": ["1/10 mm", "tienden mm"],
    "inch": ["duim", "inch", "inches"], "thou": ["thou"], "ligne": ["ligne", "‴"], "um": ["µm", "micron"],
     "ft": ["ft"], "doubt": ["lijnen", "punten", "nr.", "voet", "graden"],
    "without_tax": ["excl. BTW", "exclusief btw", "netto"], "with_tax": ["incl. BTW", "inclusief 21% btw"],
     "dozen": ["per dozijn"], "piece": ["per stuk", "/st"], "ask": ["op aanvraag"],
    "hole": ["gat", "haak"], "none": ["uitverkocht", "niet op voorraad", "0"],
     "some": ["ja", "op voorraad", "3", "5 stuks"], "ten": ["Prijs per 10", "Prijs per 10 stuks"],
    "pack_of": ["pak van {n}", "{n} stuks"], "tiers": ["1-9|10-24|25+", "vanaf 1|vanaf 10|vanaf 25"],
     "numbers": ["Breedte nr.", "Sterkte nr."],
}  # fmt: skip
LANGUAGES = {"en": ENGLISH, "de": GERMAN, "fr": FRENCH, "it": ITALIAN, "es": SPANISH, "nl": DUTCH}
MM = {"mm": Fraction(1), "cm": Fraction(10), "m": Fraction(1000), "hundredth": Fraction(1, 100),
    "tenth": Fraction(1, 10),
      "inch": INCH, "thou": INCH / 1000, "ligne": LIGNE, "um": Fraction(1, 1000), "ft": 12 * INCH}  # fmt: skip
DECIMALS = {"mm": (2, 3, 1), "cm": (3, 4, 2), "m": (5, 6, 4), "hundredth": (0, 1, 0), "tenth": (1, 2, 0),
    "inch": (4, 5, 2),
            "thou": (1, 1, 0), "ligne": (3, 5, 2), "um": (0, 0, 0), "ft": (5, 6, 3)}  # fmt: skip
SIZES = ("width", "strength", "length")
SETS = {  # units of the three sizes, and how often
    ("mm", "mm", "mm"): 12, ("mm", "hundredth", "mm"): 4, ("mm", "hundredth", "cm"): 3, ("mm", "mm", "cm"): 3,
     ("inch", "inch", "inch"): 5,
    ("inch", "thou", "inch"): 2, ("mm", "tenth", "mm"): 1, ("ligne", "hundredth", "mm"): 1, ("mm", "um", "m"): 1,
     ("mm", "mm", "m"): 1,
    ("cm", "mm", "cm"): 1, ("inch", "inch", "ft"): 1, ("mm", "mm", "inch"): 1, ("ligne", "ligne", "inch"): 1,
     ("mm", "thou", "mm"): 1,
}  # fmt: skip
SYMBOLS = {"GBP": "£", "EUR": "€", "USD": "US$", "CHF": "CHF"}


def spring(dice: random.Random, kind: str) -> tuple[Fraction, Fraction, Fraction]:
    """Sizes of a spring that could be: strength, then width and length in the usual relations."""
    clock = kind == "clock" or (kind == "mixed" and dice.random() < 0.5)
    if clock:
        width = Fraction(dice.choice([12, 14, 16, 18, 20, 22, 25, 28, 30, 32, 35, 38, 40, 45]))
        strength = Fraction(dice.randint(max(25, round(width * 100 / 120)), 55), 100)
        length = Fraction(dice.randint(round(2200 * strength / 50), round(6500 * strength / 50)) * 50)
        if length < 45 * width:
            length = Fraction(50 * round(45 * width / 50) + 50)
        return width, strength, length
    strength = Fraction(dice.randint(14, 46), 200)
    width = Fraction(round(strength * dice.randint(10, 22) * 20), 20)
    return width, strength, Fraction(round(strength * dice.randint(1700, 6000) / 10) * 10)


class Maker:
    """Makes one table; what it decides on the way is kept in `made`."""

    def __init__(self, seed: int, beside: Maker | None = None) -> None:
        self.dice = random.Random(f"{seed} beside" if beside else seed)
        self.seed = seed
        self.language = beside.language if beside else self.dice.choice(list(LANGUAGES))
        self.words = LANGUAGES[self.language]
        self.first = 1000 if beside is None else 5000
        self.kind = self.dice.choice(["watch", "clock", "mixed"])
        self.comma = self.language != "en" and self.dice.random() < 0.75
        self.delimiter = self.dice.choice([";", "\t", "|"] if self.comma else [",", ";", "\t", "|"])
        self.made: dict[str, str] = {"language": self.language, "kind": self.kind}
        self.doubtful = False
        if beside is not None:
            self.comma, self.delimiter = beside.comma, beside.delimiter

    def say(self, what: str) -> str:
        return self.dice.choice(self.words[what])

    def maybe(self, share: float) -> bool:
        return self.dice.random() < share

    def note(self, **what: str) -> None:
        self.made |= what

    # -------------------------------------------------------------------------------------------- numbers as printed
    def number(self, value: Fraction, places: int, groups: bool = False) -> str:
        text = f"{float(value):.{places}f}"
        if "." in text and self.maybe(0.7):
            text = text.rstrip("0").rstrip(".")
        whole, mark, decimals = text.partition(".")
        if groups and len(whole) > 3:
            whole = whole[:-3] + ("." if self.comma else ",") + whole[-3:]
        return whole + (("," if self.comma else ".") + decimals if mark else "")

    def size(self, mm: Fraction, unit: str, at: int) -> str:
        value = mm / MM[unit]
        if unit == "inch" and self.fractions and at != 1 and (value * 16).denominator == 1 and value.denominator > 1:
            whole, rest = divmod(value, 1)
            return f"{whole} {rest}".strip() if whole else str(rest)
        return self.number(value, DECIMALS[unit][at], groups=self.groups and at == 2)

    def exact(self, mm: Fraction, unit: str, at: int) -> Fraction:
        """The size that the printed number says: what is cut off is not true any more."""
        if unit == "inch" and self.fractions and at != 1:
            value = Fraction(round(mm / MM[unit] * 16), 16)
            return max(value, Fraction(1, 16)) * MM[unit]
        places = DECIMALS[unit][at]
        return Fraction(round(mm / MM[unit] * 10**places), 10**places) * MM[unit]

    # -------------------------------------------------------------------------------------------- the list
    def grid(self) -> Grid:
        dice = self.dice
        units = dice.choices(list(SETS), list(SETS.values()))[0]
        self.fractions = units[0] == "inch" and self.kind == "clock" and self.maybe(0.4)
        self.groups = self.maybe(0.25) and units[2] == "mm" and self.kind == "clock"
        count = dice.choice([1, 2, 3, 5, 8, 13, 25])
        truths: list[Truth] = []
        sizes: list[tuple[Fraction, ...]] = []
        for n in range(count):
            true = tuple(
                self.exact(mm, unit, at)
                for at, (mm, unit) in enumerate(zip(spring(dice, self.kind), units, strict=True))
            )
            sizes.append(true)
            truths.append(
                Truth(f"{dice.choice(['A', 'N-', 'K/', '7', 'Z.'])}{self.first + n}", *map(float, true), None)
            )
        layout = dice.choices(["columns", "combined", "barrel first"], [10, 4, 1])[0]
        said = dice.choices(["heading", "line", "title", "each in the title", "cells", "footer", "nobody", "doubt",
        "numbered", "unit column", "swapped", "some rows"],
                            [12, 4, 4, 2, 4, 1, 4, 3, 1, 1, 1, 1])[0]  # fmt: skip
        if self.first > 1000 and said in ("footer", "nobody", "doubt", "numbered"):
            said = "heading"  # what stands around the first table may hold for the second
        if layout != "columns" and said in (
            "each in the title",
            "numbered",
            "line",
            "unit column",
            "swapped",
            "some rows",
        ):
            said = "heading"
        if said in ("unit column", "swapped", "some rows"):
            units = ("mm", "mm", "mm")
            sizes = [
                tuple(self.exact(Fraction(x).limit_denominator(10**6), "mm", at) for at, x in enumerate(row))
                for row in sizes
            ]
            for truth, row in zip(truths, sizes, strict=True):
                truth.width, truth.strength, truth.length = map(float, row)
        if said == "nobody" and units != ("mm", "mm", "mm"):
            said = dice.choice(["nobody wrong", "heading"])
        if said in ("title", "footer") and len(set(units)) > 1:
            said = "heading" if layout != "columns" or said == "footer" else "each in the title"
        if layout != "columns" and len(set(units)) > 1:
            said = "cells"
        self.note(units="/".join(units), layout=layout, said=said)
        columns, title, line, footer = self.sized(layout, said, units, sizes, truths)
        return self.dressed(columns, title, line, footer, truths)

    def heading(self, meaning: str, unit: str = "") -> str:
        name = self.say(meaning)
        if not unit:
            return name
        if len(name) == 1 and self.maybe(0.5):
            return f"{name} {unit}"
        forms = [
            "{n} {u}",
            "{n} ({u})",
            "{n} [{u}]",
            "{n} {i} {u}",
            "{n}, {u}",
            "{n}/{u}" if unit in ("mm", "cm") else "{n} ({u})",
        ]
        if unit in ("mm", "cm"):
            forms.append("{n}_{u}")
        if unit == '"':
            forms = ["{n} {u}", "{n} ({u})"]
        form = self.dice.choice(forms)
        if unit == "in" and "{i}" in form:
            form = "{n} ({u})"
        return form.format(n=name, u=unit, i=self.say("in"))

    def sized(
        self, layout: str, said: str, units: tuple[str, ...], sizes: list[tuple[Fraction, ...]], truths: list[Truth]
    ) -> tuple[list[tuple[str, list[str]]], list[str], list[str], list[str]]:
        """The columns of sizes; lines above, a line of units (one cell for each of these columns), lines below."""
        words = [self.say(unit) for unit in units]
        while said in ("title", "each in the title", "footer") and (set(words) & {'"', "‴", "in", "m"}):
            words = [self.say(unit) for unit in units]
        title: list[str] = []
        line: list[str] = []
        footer: list[str] = []
        if said in ("doubt", "numbered", "swapped"):
            self.doubtful = True
            for truth in truths:
                truth.readable = False
        if said == "nobody wrong":
            for truth in truths:
                truth.readable = False
        if said == "title":
            title.append(self.say("all").format(u=words[0]))
        if said == "footer":
            footer.append(self.say("all").format(u=words[0]))
        if said == "each in the title":
            title.append(self.say("each_size").format(w=words[0], s=words[1], l=words[2]))
        printed = [
            [self.size(mm, unit, at) for at, (mm, unit) in enumerate(zip(row, units, strict=True))] for row in sizes
        ]
        if said == "some rows":  # of a list in mm, some lengths stand in cm and say nothing
            for at, row in enumerate(printed):
                if self.maybe(0.3) and len(printed) > 5 and at > 1:
                    row[2] = self.number(sizes[at][2] / 10, 1)
                    truths[at].readable = False
        if said == "cells":
            alone = [
                [word for word in self.words[unit] if not word[0].isdigit()] for unit in units
            ]  # 53 1/100 may be 53.01
            words = [self.dice.choice(those or ["thou"]) for those in alone]
            gap = self.dice.choice(["", " "])
            if any(len(word) > 3 for word in words):
                gap = " "
            printed = [[number + gap + word for number, word in zip(row, words, strict=True)] for row in printed]
        if layout == "columns":
            return self.in_columns(said, words, printed, title, line, footer)
        mark = (
            self.dice.choice([" x ", "x", " × ", " X ", " * "])
            if said == "cells"
            else self.dice.choice([" x ", "x", " × ", " / "])
        )
        if self.fractions and "/" in mark:
            mark = " x "
        cells = [mark.join(row) for row in printed]
        name = self.say("sizes")
        if layout == "barrel first":
            barrels = [str(round(row[0] * 2 + 15)) + (words[0] if said == "cells" else "") for row in sizes]
            cells = [barrel + mark + cell for barrel, cell in zip(barrels, cells, strict=True)]
            if self.maybe(0.6):
                name = " x ".join(
                    [
                        self.words["barrel"][0],
                        self.words["width"][0],
                        self.words["strength"][0],
                        self.words["length"][0],
                    ]
                )
            else:
                for truth in truths:
                    truth.readable = False
        if said == "heading":
            name = f"{name} ({words[0]})" if self.maybe(0.7) else f"{name} {words[0]}"
        if said == "doubt":
            name = f"{name} ({self.say('doubt')})"
        if said == "nobody" and self.maybe(0.5):
            cells = [f"{cell} mm" for cell in cells]
        return [(name, cells)], title, line, footer

    def in_columns(
        self,
        said: str,
        words: list[str],
        printed: list[list[str]],
        title: list[str],
        line: list[str],
        footer: list[str],
    ) -> tuple[list[tuple[str, list[str]]], list[str], list[str], list[str]]:
        names = []
        doubt = self.dice.randrange(3)
        for at, meaning in enumerate(SIZES):
            unit = words[at] if said == "heading" else ""
            if said == "doubt" and at == doubt:
                unit = self.say("doubt")
            names.append(self.heading(meaning, unit))
        if len({name.casefold() for name in names}) < 3:
            names = [self.words[meaning][0] for meaning in SIZES]
        if said == "numbered":
            names[0] = self.words["numbers"][0]
        if said == "swapped":
            names = [f"{self.words[meaning][0]} mm" for meaning in ("strength", "width", "length")]
        if said == "line":
            line = [self.dice.choice(["{}", "({})", "[{}]"]).format(word) for word in words]
            line = [cell if '"' not in cell else "inch" for cell in line]
        if said == "nobody wrong" and self.maybe(0.3):
            names[0], names[1] = names[1], names[0]  # two headings swapped besides
        columns = list(zip(names, map(list, zip(*printed, strict=True)), strict=True))
        if said == "unit column":
            return [*columns, (self.dice.choice(["Unit", "UoM"]), ["mm"] * len(printed))], title, [], footer
        order = [0, 1, 2]
        if self.maybe(0.2):
            self.dice.shuffle(order)
        return [columns[i] for i in order], title, [line[i] for i in order] if line else [], footer

    # -------------------------------------------------------------------------------------------- prices
    def prices(self, truths: list[Truth]) -> tuple[list[tuple[str, list[str]]], list[str]]:
        """Columns of price, currency and pack, a title line where it is said there; the truth goes into the rows."""
        style = self.dice.choices(
            ["none", "heading", "cell", "column", "title", "dozen", "ten", "pack column", "tiers", "pence", "dollar",
            "nobody", "cell pack", "each and pack"],
            [2, 6, 6, 2, 2, 2, 2, 2, 2, 1, 1, 1, 2, 1],
        )[0]  # fmt: skip
        currency = self.dice.choice(["GBP", "USD"] if self.language == "en" else ["EUR", "EUR", "CHF"])
        if style == "pence":
            style, currency = ("pence", "GBP") if self.language == "en" else ("heading", currency)
        self.note(price=style, currency=currency)
        if style == "none":
            return [], []
        minor = [self.dice.randint(150, 9999) for _ in truths]
        sign = SYMBOLS[currency]
        tax = self.dice.choice(["", "", " " + self.say("without_tax"), " " + self.say("with_tax")])
        name = self.say("price") + (tax if style not in ("pence",) else "")
        amounts = [self.money(m) for m in minor]
        pack = 1
        more: list[tuple[str, list[str]]] = []
        title: list[str] = []
        cells = amounts
        known = True
        packs = [1] * len(truths)
        match style:
            case "heading":
                year = self.dice.choice(["", "", " 2026"])
                name = self.dice.choice(
                    [f"{name}{year} {currency}", f"{name} ({sign})", f"{name} {sign}", f"{name} [{currency}]"]
                )
            case "cell" | "cell pack":
                cells = [
                    self.dice.choice([f"{sign} {a}", f"{a} {sign}", f"{a} {currency}", f"{currency} {a}"])
                    for a in amounts
                ]
                if style == "cell pack":
                    packs = [self.dice.choice([3, 5, 10, 12]) for _ in truths]
                    cells = [f"{c} ({self.say('pack_of').format(n=n)})" for c, n in zip(cells, packs, strict=True)]
            case "column":
                more.append((self.say("currency"), [currency] * len(truths)))
            case "title":
                form = {
                    "en": "All prices in {}",
                    "de": "Alle Preise in {}",
                    "fr": "Prix en {}",
                    "it": "Prezzi in {}",
                    "es": "Precios en {}",
                    "nl": "Prijzen in {}",
                }
                title.append(form[self.language].format(currency))
            case "dozen":
                pack = 12
                name = f"{self.words['price'][0]} {self.words['dozen'][0]} {currency}"
            case "ten":
                pack = 10
                name = f"{self.say('ten')} ({currency})" if self.maybe(0.5) else f"{self.say('ten')} {currency}"
            case "pack column":
                name = f"{self.words['price'][0]} {currency}"
                packs = [self.dice.choice([1, 3, 5, 10]) for _ in truths]
                form = self.dice.choice(["{n}", "{n}", *self.words["pack_of"]])
                more.append((self.say("pack"), [form.format(n=n) for n in packs]))
            case "each and pack":
                name = f"{self.words['price'][0]} {self.words['piece'][0]} {currency}"
                packs = [self.dice.choice([1, 3, 5, 10]) for _ in truths]
                minor = [m * n for m, n in zip(minor, packs, strict=True)]  # of the pack that is sold
                more.append((self.words["pack"][0], [str(n) for n in packs]))
            case "tiers":
                heads = self.say("tiers").split("|")
                lower = [[self.money(m - 20) for m in minor], [self.money(m - 40) for m in minor]]
                columns = list(zip([f"{h} {currency}" for h in heads], [amounts, *lower], strict=True))
                self.price_into(truths, minor, currency, packs, True)
                return columns, title
            case "pence":
                name = self.dice.choice(["Price (pence)", "Price p", "Price in pence"])
                minor = [self.dice.randint(80, 990) for _ in truths]
                cells = [str(m) for m in minor]
            case "dollar":
                cells, known = [f"${a}" for a in amounts], False
            case "nobody":
                known = False
        if pack > 1:
            packs = [pack] * len(truths)
        self.price_into(truths, minor, currency, packs, known)
        for at, truth in enumerate(truths):
            if self.maybe(0.05):
                cells[at] = self.say("ask")
                truth.price, truth.priced = None, False
        return [(name, cells), *more], title

    def price_into(self, truths: list[Truth], minor: list[int], currency: str, packs: list[int], known: bool) -> None:
        for truth, amount, pack in zip(truths, minor, packs, strict=True):
            truth.price = (amount, currency, pack)
            truth.priced = known

    def money(self, minor: int) -> str:
        mark = "," if self.comma else "."
        return f"{minor // 100}{mark}{minor % 100:02d}"

    # -------------------------------------------------------------------------------------------- the whole sheet
    def dressed(
        self,
        sized: list[tuple[str, list[str]]],
        title: list[str],
        line: list[str],
        footer: list[str],
        truths: list[Truth],
    ) -> Grid:
        """Put the other columns and lines around the sizes, and spoil some rows."""
        dice, count = self.dice, len(truths)
        item = (self.say("item"), [truth.item for truth in truths])
        prices, price_title = self.prices(truths)
        others: list[tuple[str, list[str]]] = []
        if self.maybe(0.4):
            others.append(
                (self.say("stock"), [dice.choice([*self.words["some"], *self.words["none"]]) for _ in truths])
            )
        if self.maybe(0.4):
            others.append((self.say("end"), [self.say("hole") for _ in truths]))
        if self.maybe(0.3):
            others.append((self.say("note"), [dice.choice(["", "", self.say("hole"), "*"]) for _ in truths]))
        barrel: list[tuple[str, list[str]]] = []
        if self.maybe(0.2) and self.made["layout"] == "columns":
            barrel = [(self.say("barrel"), [str(dice.randint(8, 80)) for _ in truths])]
        columns = (
            [item, *barrel, *sized, *prices, *others] if self.maybe(0.8) else [*sized, *barrel, item, *prices, *others]
        )
        first = columns.index(sized[0])
        self.spoil(columns, first, len(sized), truths)
        header = [name for name, _ in columns]
        rows: list[tuple[list[str], Truth | None]] = [
            ([cells[at] for _, cells in columns], truths[at]) for at in range(count)
        ]
        above = [[text] for text in ([self.say("title")] if self.maybe(0.6) else [])]
        above += [[text] for text in (*title, *price_title)]
        if above and self.maybe(0.5):
            above.append([""])
        if line:
            rows.insert(0, ([""] * first + line + [""] * (len(columns) - first - len(line)), None))
        self.interrupt(rows, header, bool(line))
        below = [[text] for text in (*footer, *([self.say("footer")] if self.maybe(0.3) else []))]
        if self.maybe(0.15):
            below.insert(0, [self.say("total"), *[""] * (len(columns) - 2), "1234"])
        return Grid([*above, header, *(cells for cells, _ in rows), *below], len(columns), truths, self.groups)

    def spoil(self, columns: list[tuple[str, list[str]]], first: int, many: int, truths: list[Truth]) -> None:
        """Some rows have a size that nobody can read."""
        for at, truth in enumerate(truths):
            if not self.maybe(0.04):
                continue
            _, cells = columns[first + self.dice.randrange(many)]
            cells[at] = self.dice.choice(["", "?", "300-320", "tbc", "~", "see note", "1O,5", "0"])
            truth.readable = False

    def interrupt(self, rows: list[tuple[list[str], Truth | None]], header: list[str], line: bool) -> None:
        """Blank lines, titles of sections and the headings again, between the rows."""
        at = 1 if line else 0
        while at < len(rows):
            if at > (1 if line else 0) and self.maybe(0.06):
                what = self.dice.choice([[""], [self.say("section")], header])
                rows.insert(at, (list(what), None))
                at += 1
            at += 1

    def as_text(self, found: Grid) -> MadeList:
        grid, width, truths = found.rows, found.width, found.truths
        out = io.StringIO()
        quoting = self.dice.choice([csv.QUOTE_MINIMAL, csv.QUOTE_MINIMAL, csv.QUOTE_ALL])
        end = self.dice.choice(["\n", "\r\n"])
        padded = self.maybe(0.5)
        writer = csv.writer(out, delimiter=self.delimiter, quoting=quoting, lineterminator=end)  # type: ignore[arg-type]
        for row in grid:
            full = len(row) > 1 or padded
            writer.writerow(row + [""] * (width - len(row)) if full else row)
        text = out.getvalue()
        encoding = self.dice.choice(["utf-8", "utf-8", "utf-8-sig", "utf-16", "cp1252"])
        try:
            content = text.encode(encoding)
        except UnicodeEncodeError:
            encoding, content = "utf-8", text.encode()
        self.note(file="text", encoding=encoding)
        return MadeList(f"list{self.seed}.csv", content, truths, self.made)

    def as_sheets(self, grids: list[Grid], hidden: Grid | None) -> MadeList:
        import xlsxwriter

        out = io.BytesIO()
        with xlsxwriter.Workbook(out, {"in_memory": True}) as book:
            names = self.dice.sample(["Sheet1", "Tabelle2", "Springs", "Feuil4", "Elenco"], 3)
            as_numbers = self.maybe(0.7)
            if hidden is not None:
                sheet = book.add_worksheet("old")
                self.fill(sheet, hidden, as_numbers)
                sheet.hide()
            for name, grid in zip(names, grids, strict=False):
                sheet = book.add_worksheet(name)
                self.fill(sheet, grid, as_numbers)
                if name == names[0]:
                    sheet.activate()
        self.note(file="sheet")
        return MadeList(f"list{self.seed}.xlsx", out.getvalue(), [t for grid in grids for t in grid.truths], self.made)

    def fill(self, sheet: Any, grid: Grid, as_numbers: bool) -> None:
        for r, row in enumerate(grid.rows):
            for c, cell in enumerate(row):
                value = self.as_number(cell, grid.groups) if as_numbers else None
                if value is not None:
                    sheet.write_number(r, c, value)
                elif cell:
                    sheet.write_string(r, c, cell)

    def as_number(self, cell: str, groups: bool) -> float | None:
        plain = cell.replace(",", ".") if self.comma and cell.count(",") == 1 and "." not in cell else cell
        if "," in plain or (groups and "." in cell):
            return None
        try:
            return float(plain)
        except ValueError:
            return None


def made_list(seed: int) -> MadeList:
    """The list of a seed: one table or two, as text or as the sheets of a workbook."""
    maker = Maker(seed)
    grid = maker.grid()
    dice = maker.dice
    second = Maker(seed, maker)
    kind = dice.choices(["one", "two below each other", "two sheets", "a hidden sheet"], [16, 3, 2, 1])[0]
    maker.note(tables=kind)
    if kind == "one":
        return maker.as_sheets([grid], None) if maker.maybe(0.25) else maker.as_text(grid)
    if kind == "a hidden sheet":
        return maker.as_sheets([grid], second.grid())
    other = second.grid()
    maker.note(second=f"{second.made['units']} {second.made['layout']} {second.made['said']} {second.made['price']}")
    if kind == "two sheets":
        return maker.as_sheets([grid, other], None)
    if maker.doubtful or maker.made["said"] in ("nobody wrong", "nobody", "footer", "title", "each in the title"):
        return maker.as_text(grid)  # what is in doubt about one would cost the other
    both = Grid(
        [*grid.rows, *([[""]] if maker.maybe(0.5) else []), *other.rows],
        max(grid.width, other.width),
        [*grid.truths, *other.truths],
    )
    return maker.as_text(both)
