"""What rules may ask for, by code, in the words of the page."""

CONSENT = {
    "who": "who consented",
    "day": "the day",
    "time": "the time of day",
    "how": "how it was given",
    "number_called": "the number called",
    "receiver": "who of the shop took it",
    "conditions": "its conditions, if any",
    "extra_work": "the extra parts and labour",
    "new_total": "the new total",
    "own_words": "the customer's own words",
}
# The record keeps these by itself: from the version agreed to, the clock and whoever is signed in.
KEPT_ALWAYS = frozenset({"who", "day", "time", "how", "receiver", "conditions", "extra_work", "new_total"})

ESTIMATE = {
    "in_writing": "given in writing",
    "shop_name_address": "the shop's name and address",
    "fault": "the fault as the customer tells it",
    "work_described": "what will be done",
    "parts_costs": "the cost of parts",
    "part_class": "whether parts are new, used or rebuilt",
    "labour_costs": "the cost of labour",
    "storage_fee": "a fee for storage, if any",
    "tax_said": "whether tax is in the sums",
    "total_with_tax": "the whole price with tax",
    "estimate_fee": "a fee for the estimate itself, if any",
    "no_least_amount": "no talk of a least amount",
    "promised_on": "the day the set will be ready",
}

INVOICE = {
    "number": "a number that follows on",
    "issued_on": "its date",
    "shop_name_address": "the shop's name and address",
    "shop_registration": "the shop's registration number",
    "shop_tax_id": "the shop's tax number, where tax is charged",
    "buyer_name_address": "the customer's name and address",
    "set": "make, model and serial number of the set",
    "fault": "the fault as the customer told it",
    "work_described": "all work done",
    "work_done_on": "the day the work was finished",
    "parts_itemised": "each part",
    "part_class": "whether parts are new, used or rebuilt",
    "labour_itemised": "each item of labour",
    "charges_itemised": "every other charge",
    "net_rate_tax": "net, rate and tax",
    "exempt_reason": "why no tax is charged, where none is",
    "no_charge": "given also where nothing is charged",
    "statement": "the prescribed notice",
}

OVERRUN_WAYS = {
    "consent": "nothing on top without a newer consent",
    "cap": "up to a limit",
    "reasonable_price": "a sum accepted binds, else a reasonable price",
    "tell_at_once": "the customer is told at once, and may end it",
}
PARTS_RETURN_WAYS = {
    "returned": "returned unless the customer doesn't want them",
    "asked": "returned where the customer asked before the work",
    "unsaid": "no rule",
}
NOTICE_KINDS = {"collect": "a notice to collect", "sale": "a notice of the intention to sell, which names the day"}
SENT_BY = {
    "recorded_post": "registered or recorded post",
    "certified_mail": "certified mail with return receipt",
    "first_class": "first-class mail",
    "by_hand": "served in person",
    "published": "published in a newspaper",
}
LETTER = {
    "shop_name_address": "the shop's name and address",
    "set": "which set it is",
    "where": "where it is",
    "ready": "that it is ready to be collected",
    "owed": "what is owed",
    "owed_for": "what it is owed for, and since when",
    "day": "the day of the sale",
    "time_and_place": "the time and place of the sale",
    "lien": "the ground on which the shop holds it",
    "value": "what the set is estimated to be worth",
    "dispute": "how to dispute what is owed",
}
UNREACHED = {
    "last_address": "send it again to the last address known",
    "trace": "look for the customer in reasonable ways, and write down how",
    "publish": "publish the notice",
    "court": "where the customer can't be found, a court may have to allow it",
}
SALE_WAYS = {"auction": "public auction", "best": "the best way of sale that can reasonably be had"}
ORIGINS = ("read", "memory")
TAX_SCHEMES = ("vat", "sales", "none")
TAX_CATEGORIES = ("S", "Z", "E", "O")
