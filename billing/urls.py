"""Addresses of the till."""

from django.urls import URLPattern, path

from billing.views import deposits, einvoices, hand_over, invoices, job_money, keepsakes, paper_pages, payments

app_name = "billing"
urlpatterns: list[URLPattern] = [
    path("", invoices.invoices, name="invoices"),
    path("jobs/<int:pk>/", job_money.job_money, name="job_money"),
    path("jobs/<int:pk>/issue/", job_money.issue, name="issue"),
    path("jobs/<int:pk>/deposit/", deposits.take_deposit, name="take_deposit"),
    path("jobs/<int:pk>/deposit/back/", deposits.give_back_deposit, name="give_back_deposit"),
    path("jobs/<int:pk>/hand-over/", hand_over.hand_over, name="hand_over"),
    path("jobs/<int:pk>/summary/", keepsakes.summary_pdf, name="summary_pdf"),
    path("jobs/<int:pk>/warranty/", keepsakes.warranty_pdf, name="warranty_pdf"),
    path("papers/<int:pk>/", invoices.invoice, name="invoice"),
    path("papers/<int:pk>/paper/", invoices.invoice_pdf, name="invoice_pdf"),
    path("papers/<int:pk>/page/", paper_pages.invoice_page, name="invoice_page"),
    path("papers/<int:pk>/data/", einvoices.einvoice, name="einvoice"),
    path("papers/<int:pk>/data/ubl/", einvoices.einvoice_ubl, name="einvoice_ubl"),
    path("papers/<int:pk>/data/cii/", einvoices.einvoice_cii, name="einvoice_cii"),
    path("papers/<int:pk>/data/paper/", einvoices.einvoice_pdf, name="einvoice_pdf"),
    path("papers/<int:pk>/credit/", invoices.credit, name="credit"),
    path("papers/<int:pk>/pay/", payments.pay, name="pay"),
    path("customers/<int:pk>/statement/", invoices.statement, name="statement"),
    path("customers/<int:pk>/statement/page/", paper_pages.statement_page, name="statement_page"),
]
