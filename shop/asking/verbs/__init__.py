"""Everything that can be asked, by name."""

from collections.abc import Mapping
from types import MappingProxyType

from shop.asking.verb import Verb
from shop.asking.verbs import judging, money, notation, supply

VERBS: Mapping[str, Verb] = MappingProxyType(
    {verb.name: verb for verb in (*notation.VERBS, *judging.VERBS, *supply.VERBS, *money.VERBS)}
)
