"""Asking for the whole shop as one open file."""

from shop.forms.own_password import OwnPasswordForm


class ArchiveForm(OwnPasswordForm):
    help_text = "The file holds all that the shop knows of its customers."
