"""The words by which the built-in cautions know an ingredient. By no means all there are."""

from __future__ import annotations

from typing import Final

POLYOLS: Final = (
    *("sorbitol", "mannitol", "isomalt", "maltitol", "lactitol", "xylitol", "erythritol", "polyglycitol"),
    *("polyol", "sugar alcohol"),
)
MILK: Final = ("milk", "cream", "whey", "yoghurt", "yogurt", "buttermilk", "butter", "kefir", "mascarpone", "ricotta")
NOT_MILK: Final = (
    *("coconut", "almond", "oat", "soy", "soya", "rice", "cashew", "hazelnut", "nut", "pea", "hemp", "peanut", "cocoa"),
    *("cream of tartar", "creme de", "crème de", "cream sherry", "cream soda", "plant", "thistle", "shea"),
)
EGG: Final = ("egg", "albumen", "yolk")
LOOKS_LIKE: Final[dict[str, tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]]] = {
    "milk": (MILK, NOT_MILK, ("milk", "dairy", "lact")),
    "egg": (EGG, (), ("egg",)),
    "nuts": (
        (
            *("almond", "orgeat", "hazelnut", "walnut", "pistachio", "cashew", "pecan", "macadamia", "brazil nut"),
            "marzipan",
        ),
        (),
        ("nut", "almond", "walnut", "pistachio", "cashew", "pecan"),
    ),
    "peanuts": (("peanut",), (), ("peanut",)),
    "sesame": (("sesame", "tahini"), (), ("sesame",)),
    "soya": (("soy", "soya", "miso", "tofu"), (), ("soy",)),
    "celery": (("celery", "celeriac"), (), ("celery", "celeriac")),
    "mustard": (("mustard",), (), ("mustard",)),
    "cereals with gluten": (
        (
            *("beer", "ale", "lager", "stout", "semolina", "wheat", "barley", "spelt", "oat", "rye bread", "rye flour"),
            *("malt extract", "malt syrup", "malt vinegar"),
        ),
        ("ginger", "root", "whisky", "whiskey", "vodka", "gin", "spirit", "distillate"),
        ("gluten", "wheat", "barley", "oat", "rye", "spelt"),
    ),
    "sulphites": (("wine", "vermouth", "sherry"), ("vinegar",), ("sulph", "sulf")),
    "fish": (("fish", "anchovy", "anchovies", "dashi", "bonito", "worcestershire"), ("fish mint",), ("fish", "anchov")),
    "crustaceans": (("shrimp", "prawn", "crab", "lobster", "crayfish"), ("crab apple",), ("crustacean", "shellfish")),
    "molluscs": (
        ("oyster", "clam", "mussel", "squid", "scallop"),
        ("oyster mushroom", "oyster leaf"),
        ("mollus", "shellfish"),
    ),
    "lupin": (("lupin", "lupine"), (), ("lupin",)),
}
"""Allergen -> words in a name that suggest it, words that do not, and beginnings by which the price list states it."""
LOW_ACID_IN_OIL: Final = (
    *("garlic", "onion", "leek", "truffle", "mushroom", "ginger", "chilli", "chili", "herb", "basil", "bay leaf"),
    *("coriander", "dill", "lemongrass", "mint", "oregano", "parsley", "rosemary", "sage", "shiso", "tarragon"),
    "thyme",
)
"""Plants that are not acid, some of them with spores from the soil, and that people put in oil."""
RISKY: Final = {
    "absinthe wormwood": "thujone is limited (Reg. (EC) 1334/2008 Annex III)",
    "activated charcoal": "binds medicines taken with it",
    "apricot kernel": "bitter kernels release cyanide (Reg. (EU) 2017/1237)",
    "bitter almond": "raw bitter almonds release cyanide",
    "borage": "pyrrolizidine alkaloids (Reg. (EU) 2020/2040)",
    "calamus": "not allowed in food in the US (21 CFR 189.110)",
    "cherry stone": "stones release cyanide",
    "cinchona": "quinine is limited (21 CFR 172.575) and some people must not have it",
    "coltsfoot": "pyrrolizidine alkaloids",
    "comfrey": "pyrrolizidine alkaloids",
    "elder leaf": "leaves, bark and unripe berries make ill",
    "elderberr": "raw berries make ill: they must be cooked",
    "foxglove": "deadly",
    "hemlock": "deadly",
    "kava": "liver harm reported; restricted in several countries",
    "lily of the valley": "deadly",
    "liquorice": "100 mg/kg or 10 mg/l of glycyrrhizinic acid must be labelled (Reg. (EU) 1169/2011 Annex III)",
    "licorice": "100 mg/kg or 10 mg/l of glycyrrhizinic acid must be labelled (Reg. (EU) 1169/2011 Annex III)",
    "nutmeg": "harmful by the spoonful",
    "oleander": "deadly",
    "peach stone": "stones release cyanide",
    "pennyroyal": "pulegone harms the liver; limited (Reg. (EC) 1334/2008 Annex III)",
    "quinine": "limited (21 CFR 172.575) and some people must not have it",
    "rhubarb lea": "leaves are poisonous",
    "rue": "makes skin burn in the sun; not for pregnancy",
    "sassafras": "safrole is not allowed in food in the US (21 CFR 189.180)",
    "st john": "St John's wort changes how medicines work",
    "sweet woodruff": "coumarin is limited (Reg. (EC) 1334/2008 Annex III)",
    "tansy": "thujone is limited (Reg. (EC) 1334/2008 Annex III)",
    "tobacco": "nicotine: an infusion can be deadly",
    "tonka": "coumarin is not allowed in food in the US (21 CFR 189.130), limited in the EU",
    "wormwood": "thujone is limited (Reg. (EC) 1334/2008 Annex III)",
    "yew": "deadly",
}
"""Part of a name -> why. From memory, as far as no source is named; by no means all there are."""
FORAGED: Final = ("forage", "foraged", "foraging", "wild", "hedgerow")
