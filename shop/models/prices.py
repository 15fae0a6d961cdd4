"""What the shop sells and what it charges. Rates start on a day and are never edited back."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from shop.models.accounts import Yard


class ProductKind(models.TextChoices):
    HOSE = "hose", _("Hose")
    CLAMP = "clamp", _("Clamp")
    PART = "part", _("Part")


class PartCondition(models.TextChoices):
    """What a quote and an invoice must say of a part: California, Harb. & Nav. Code 415 names
    used, rebuilt and reconditioned parts (text read)."""

    NEW = "new", _("New")
    USED = "used", _("Used")
    REBUILT = "rebuilt", _("Rebuilt")
    RECONDITIONED = "reconditioned", _("Reconditioned")


class Product(models.Model):
    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="products")
    sku = models.CharField(_("number"), max_length=40)
    kind = models.CharField(_("kind"), max_length=10, choices=ProductKind.choices)
    description = models.CharField(_("description"), max_length=200)
    unit = models.CharField(_("unit"), max_length=10, default="ea")
    cost = models.DecimalField(_("cost"), max_digits=12, decimal_places=4, default=0)
    price = models.DecimalField(_("price"), max_digits=12, decimal_places=4)
    condition = models.CharField(
        _("condition"), max_length=13, choices=PartCondition.choices, default=PartCondition.NEW
    )
    facts = models.JSONField(default=dict, blank=True)
    default_clamp = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="clamps_for"
    )
    default_clip = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="clips_for"
    )
    for_fuel = models.BooleanField(_("for fuel"), default=True)
    is_active = models.BooleanField(_("in use"), default=True)

    class Meta:
        ordering = ["kind", "sku"]
        constraints = [
            models.UniqueConstraint(
                fields=["yard", "sku"],
                name="product_sku_once",
                violation_error_message=_("This number is taken. Choose another one."),
            ),
            models.CheckConstraint(
                condition=models.Q(kind__in=ProductKind.values), name="product_kind_known"
            ),
            models.CheckConstraint(
                condition=models.Q(condition__in=PartCondition.values),
                name="product_condition_known",
            ),
            models.CheckConstraint(
                condition=models.Q(cost__gte=0, price__gte=0), name="product_price_not_negative"
            ),
        ]

    def __str__(self) -> str:
        return self.sku


class RateCard(models.Model):
    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="rate_cards")
    starts_on = models.DateField(_("from"))
    labor_rate = models.DecimalField(_("labor rate an hour"), max_digits=10, decimal_places=2)
    supplies_pct = models.DecimalField(
        _("shop supplies, share of labor"), max_digits=7, decimal_places=5
    )
    supplies_floor = models.DecimalField(_("at least"), max_digits=10, decimal_places=2)
    supplies_cap = models.DecimalField(_("at most"), max_digits=10, decimal_places=2)
    waste_flat = models.DecimalField(_("waste handling"), max_digits=10, decimal_places=2)
    waste_per_gal = models.DecimalField(
        _("waste handling a gallon"), max_digits=10, decimal_places=2
    )
    deposit_pct = models.DecimalField(
        _("deposit, share of the total"), max_digits=7, decimal_places=5
    )
    deposit_step = models.DecimalField(
        _("rounded up to a step of"), max_digits=10, decimal_places=2
    )
    quote_days = models.PositiveSmallIntegerField(_("days a quote holds"), default=30)
    hose_add_in = models.DecimalField(
        _("inches added to a hose"), max_digits=6, decimal_places=2, default=4
    )
    hose_step_ft = models.DecimalField(
        _("feet a hose is charged by"), max_digits=5, decimal_places=2, default="0.5"
    )
    fill_extra_hours = models.DecimalField(
        _("hours added for a fill hose"), max_digits=5, decimal_places=2, default="0.75"
    )
    warranty_months = models.PositiveSmallIntegerField(_("months of warranty"), default=12)
    inspection_months = models.PositiveSmallIntegerField(
        _("months to the next inspection"), default=12
    )

    class Meta:
        ordering = ["-starts_on"]
        constraints = [
            models.UniqueConstraint(
                fields=["yard", "starts_on"],
                name="ratecard_one_a_day",
                violation_error_message=_("There are rates from this day on already."),
            ),
            models.CheckConstraint(
                condition=models.Q(
                    labor_rate__gte=0,
                    supplies_pct__gte=0,
                    supplies_floor__gte=0,
                    supplies_cap__gte=models.F("supplies_floor"),
                    waste_flat__gte=0,
                    waste_per_gal__gte=0,
                    deposit_pct__gte=0,
                    deposit_pct__lte=1,
                    deposit_step__gt=0,
                    hose_add_in__gte=0,
                    hose_step_ft__gt=0,
                    fill_extra_hours__gte=0,
                ),
                name="ratecard_figures_make_sense",
                violation_error_message=_(
                    "A rate is negative, a step is zero, the cap is below the floor, "
                    "or the deposit is above the whole total."
                ),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.starts_on:%Y-%m-%d}"


class AccessClass(models.Model):
    """Hours a segment takes, by how it is reached."""

    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="access_classes")
    code = models.CharField(max_length=10)
    text = models.CharField(_("meaning"), max_length=200)
    hours = models.DecimalField(_("hours a segment"), max_digits=6, decimal_places=2)
    position = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["position", "hours"]
        constraints = [
            models.UniqueConstraint(fields=["yard", "code"], name="accessclass_code_once"),
            models.CheckConstraint(
                condition=models.Q(hours__gte=0), name="accessclass_hours_not_negative"
            ),
        ]

    def __str__(self) -> str:
        return self.code


class LaborOp(models.Model):
    """A step of work, priced by the hour or flat."""

    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="labor_ops")
    code = models.CharField(max_length=20)
    text = models.CharField(_("description"), max_length=200)
    hours = models.DecimalField(_("hours"), max_digits=6, decimal_places=2, null=True, blank=True)
    flat = models.DecimalField(
        _("flat price"), max_digits=10, decimal_places=2, null=True, blank=True
    )

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["yard", "code"], name="laborop_code_once"),
            models.CheckConstraint(
                # A comparison with NULL passes a check, so that both are asked to be there.
                condition=models.Q(hours__isnull=False, hours__gte=0, flat__isnull=True)
                | models.Q(flat__isnull=False, flat__gte=0, hours__isnull=True),
                name="laborop_hours_or_flat",
                violation_error_message=_("Give hours or a flat price, not both."),
            ),
        ]

    def __str__(self) -> str:
        return self.code


class TaxMethod(models.TextChoices):
    DOCUMENT = "document", _("Once on the taxable sum")
    LINE = "line", _("Line by line")


class TaxProfile(models.Model):
    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="tax_profiles")
    starts_on = models.DateField(_("from"))
    name = models.CharField(_("name"), max_length=80)
    rate = models.DecimalField(_("rate"), max_digits=8, decimal_places=6)
    taxable_kinds = models.JSONField(_("taxable"), default=list, blank=True)
    method = models.CharField(
        _("rounded"), max_length=10, choices=TaxMethod.choices, default=TaxMethod.DOCUMENT
    )

    class Meta:
        ordering = ["-starts_on"]
        constraints = [
            models.UniqueConstraint(
                fields=["yard", "starts_on"],
                name="taxprofile_one_a_day",
                violation_error_message=_("There is a tax profile from this day on already."),
            ),
            models.CheckConstraint(
                condition=models.Q(rate__gte=0, rate__lt=1),
                name="taxprofile_rate_is_a_share",
                violation_error_message=_("The rate is a share, 0.065 for 6.5 %%."),
            ),
            models.CheckConstraint(
                condition=models.Q(method__in=TaxMethod.values), name="taxprofile_method_known"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Practice(models.TextChoices):
    OFF = "off", _("Off")
    ADVICE = "advice", _("Advice")
    COUNT = "count", _("Counts")


class PracticeSetting(models.Model):
    """How the shop takes one practice rule. Rules of law have no row here."""

    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="practice_settings")
    rule_id = models.CharField(max_length=80)
    setting = models.CharField(max_length=10, choices=Practice.choices)
    # The shop's own number in the unit of the rule; a bore may be a sixty-fourth of an inch.
    number = models.DecimalField(max_digits=12, decimal_places=6, null=True, blank=True)

    class Meta:
        ordering = ["rule_id"]
        constraints = [
            models.UniqueConstraint(fields=["yard", "rule_id"], name="practice_rule_once"),
            models.CheckConstraint(
                condition=models.Q(rule_id__startswith="practice-"), name="practice_not_law"
            ),
            models.CheckConstraint(
                condition=models.Q(setting__in=Practice.values), name="practice_setting_known"
            ),
            models.CheckConstraint(
                condition=models.Q(number__isnull=True) | models.Q(number__gt=0),
                name="practice_number_above_zero",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.rule_id}: {self.setting}"
