"""Every kind of long work that the shop knows: see `shop.long_work` for what a worker must keep to."""

from shop.access import EVERYBODY
from shop.long_work import Kind
from shop.models import Role
from shop.works.archive import write_archive
from shop.works.copies import make_copy, prove_copy
from shop.works.counter_papers import draw_claim_checks, draw_tags
from shop.works.customers import write_customers
from shop.works.data_copy import draw_copy
from shop.works.labels import draw_labels
from shop.works.papers import draw_papers, draw_statements
from shop.works.tallies import count_house

KINDS: dict[str, Kind] = {
    "backup": Kind(make_copy, "photos copied or read", "No copy was made.", roles=(Role.OWNER,)),
    "backup_proof": Kind(prove_copy, "photos read", "The copy was not proven anew.", roles=(Role.OWNER,)),
    "whole_shop": Kind(write_archive, "rows and files written", roles=(Role.OWNER,)),
    "papers_of_period": Kind(draw_papers, "papers drawn", roles=(Role.OWNER,)),
    "statements": Kind(draw_statements, "statements drawn", roles=(Role.COUNTER,)),
    "claim_checks": Kind(draw_claim_checks, "claim checks drawn", roles=EVERYBODY),
    "tags": Kind(draw_tags, "tags drawn", roles=EVERYBODY),
    "data_copy": Kind(draw_copy, "papers and photos put in", roles=(Role.COUNTER,)),
    "drawer_labels": Kind(draw_labels, "labels drawn", roles=EVERYBODY),
    "count_house": Kind(count_house, "counts", "The figures of before stay.", roles=EVERYBODY),
    "customers_from_cards": Kind(
        write_customers, "cards taken over", "The customers written so far stay.", roles=(Role.COUNTER,)
    ),
}
