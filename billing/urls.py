"""Addresses of the till."""

from django.urls import URLPattern, path

from billing.views import (
    books,
    credits,
    deposits,
    einvoices,
    hand_over,
    invoices,
    job_money,
    keepsakes,
    paper_pages,
    payments,
    proof,
    statements,
)

app_name = "billing"
urlpatterns: list[URLPattern] = [
    path("", invoices.invoices, name="invoices"),
    path("jobs/<int:pk>/", job_money.job_money, name="job_money"),
    path("jobs/<int:pk>/issue/", job_money.issue, name="issue"),
    path("jobs/<int:pk>/deposit/", deposits.take_deposit, name="take_deposit"),
    path("jobs/<int:pk>/deposit/back/", deposits.give_back_deposit, name="give_back_deposit"),
    path("jobs/<int:pk>/hand-over/", hand_over.hand_over, name="hand_over"),
    path("jobs/<int:pk>/summary/", keepsakes.summary_pdf, name="summary_pdf"),
    path("jobs/<int:pk>/summary/page/", keepsakes.summary_page, name="summary_page"),
    path("jobs/<int:pk>/warranty/", keepsakes.warranty_pdf, name="warranty_pdf"),
    path("jobs/<int:pk>/warranty/page/", keepsakes.warranty_page, name="warranty_page"),
    path("papers/<int:pk>/", invoices.invoice, name="invoice"),
    path("papers/<int:pk>/paper/", invoices.invoice_pdf, name="invoice_pdf"),
    path("papers/<int:pk>/page/", paper_pages.invoice_page, name="invoice_page"),
    path("papers/<int:pk>/data/", einvoices.einvoice, name="einvoice"),
    path("papers/<int:pk>/data/ubl/", einvoices.einvoice_ubl, name="einvoice_ubl"),
    path("papers/<int:pk>/data/cii/", einvoices.einvoice_cii, name="einvoice_cii"),
    path("papers/<int:pk>/data/paper/", einvoices.einvoice_pdf, name="einvoice_pdf"),
    path("papers/<int:pk>/credit/", credits.credit, name="credit"),
    path("papers/<int:pk>/credit/part/", credits.credit_part, name="credit_part"),
    path("papers/<int:pk>/pay/", payments.pay, name="pay"),
    path("papers/<int:pk>/move/", payments.move, name="move"),
    path("payments/<int:pk>/back/", payments.take_back, name="take_back"),
    path("bill-lines/<int:pk>/", proof.line_proof, name="line_proof"),
    path("lots/<int:pk>/", proof.lot_lines, name="lot_lines"),
    path("customers/<int:pk>/", statements.account, name="account"),
    path("customers/<int:pk>/statement/", statements.statement, name="statement"),
    path("customers/<int:pk>/statement/page/", paper_pages.statement_page, name="statement_page"),
    path("ageing/", statements.ageing_page, name="ageing"),
    path("books/", books.books, name="books"),
    path("books/journal/", books.journal, name="journal"),
    path("books/tax/", books.tax, name="tax"),
    path("books/papers/", books.paper_list, name="paper_list"),
]
