"""Amounts in another currency: how many decimals each has, and what one is worth in the build's own."""

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import floor

TWO = """
AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BMD BND BOB BOV BRL BSD BTN BWP BYN BZD CAD CDF CHE
CHF CHW CNY COP COU CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GTQ GYD
HKD HNL HTG HUF IDR ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK LBP LKR LRD LSL MAD MDL MGA MKD MMK
MNT MOP MRU MUR MVR MWK MXN MXV MYR MZN NAD NGN NIO NOK NPR NZD PAB PEN PGK PHP PKR PLN QAR RON RSD
RUB SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TOP TRY TTD TWD TZS UAH
USD USN UYU UZS VED VES WST XAD XCD XCG YER ZAR ZMW ZWG
"""
NONE = "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF"
THREE = "BHD IQD JOD KWD LYD OMR TND"
FOUR = "CLF UYW"
DECIMALS = {
    code: count for count, codes in ((2, TWO), (0, NONE), (3, THREE), (4, FOUR)) for code in codes.split()
}
"""Decimals of each currency by its code. Source: ISO 4217, list one, as published on 1 January 2026."""

OWN_DECIMALS = 2
"""Every currency that a build can be counted in has hundredths."""
MOST = Decimal(100_000)
_NUMBER = re.compile(r"[0-9]{1,6}([.,][0-9]{1,10})?", re.ASCII)


def decimals(currency: str) -> int:
    """Decimals of a currency; two where its code is not known."""
    return DECIMALS.get(currency, OWN_DECIMALS)


def plain(minor: int, currency: str) -> str:
    """Whole minor units as an amount, e.g. "24.50", "1250" yen, "0.750" dinars."""
    count = decimals(currency)
    whole, part = divmod(abs(minor), 10**count)
    sign = "−" if minor < 0 else ""
    return f"{sign}{whole}.{part:0{count}d}" if count else f"{sign}{whole}"


def worth(text: str) -> Decimal | None:
    """A rate as people type it, "1.163" or "1,163"; none where it is no number above zero, up to `MOST`."""
    if not _NUMBER.fullmatch(text):
        return None
    found = Decimal(text.replace(",", "."))
    return found if 0 < found <= MOST else None


@dataclass(frozen=True, slots=True)
class Rate:
    """One unit of `currency` is worth `worth` units of the build's own. source: where the rate is from."""

    currency: str
    worth: Decimal
    source: str

    @property
    def number(self) -> str:
        """Its worth as it is typed, e.g. "1.163"; never with a power of ten."""
        return f"{self.worth:f}"

    def to_own(self, minor: int) -> int:
        """An amount of minor units of the currency in whole minor units of the build's own.

        Rounded once, an exact half up, as Council Regulation (EC) No 1103/97, article 5, has it
        (from memory).
        """
        exact = Fraction(self.worth) * Fraction(minor * 10**OWN_DECIMALS, 10 ** decimals(self.currency))
        return floor(exact + Fraction(1, 2))

    def words(self, own: str) -> str:
        """E.g. "1 GBP = 1.163 EUR, card bill of 3 Dec"."""
        return f"1 {self.currency} = {self.number} {own}, {self.source}"
