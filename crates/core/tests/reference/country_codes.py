"""The numeric country codes of ISO 3166-1, as the package pycountry carries them.

    country_codes.py country_codes.csv
"""

import sys

import pycountry

codes = sorted(country.numeric for country in pycountry.countries)
with open(sys.argv[1], "w", encoding="utf-8") as out:
    out.write("code\n")
    out.writelines(f"{code}\n" for code in codes)
