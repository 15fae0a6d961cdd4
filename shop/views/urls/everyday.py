from django.urls import path

from shop.views import boats, customers, engines, home, lengths, markings, prices, rules

urlpatterns = [
    path("", home.home, name="home"),
    path("find/", home.find, name="find"),
    path("lengths/echo/", lengths.length_echo, name="length_echo"),
    path("markings/echo/", markings.marking_echo, name="marking_echo"),
    path("customers/", customers.customer_list, name="customer_list"),
    path("customers/new/", customers.customer_new, name="customer_new"),
    path("customers/<int:pk>/", customers.customer_detail, name="customer_detail"),
    path("customers/<int:pk>/edit/", customers.customer_edit, name="customer_edit"),
    path("boats/", boats.boat_list, name="boat_list"),
    path("boats/new/", boats.boat_new, name="boat_new"),
    path("boats/hin/", boats.boat_hin, name="boat_hin"),
    path("boats/<int:pk>/edit/", boats.boat_edit, name="boat_edit"),
    path("boats/<int:pk>/engines/new/", engines.engine_new, name="engine_new"),
    path("boats/engines/<int:pk>/", engines.engine_edit, name="engine_edit"),
    path("prices/", prices.price_list, name="price_list"),
    path("prices/new/", prices.product_new, name="product_new"),
    path("prices/<int:pk>/", prices.product_edit, name="product_edit"),
    path("prices/rates/", prices.rate_list, name="rate_list"),
    path("prices/rates/new/", prices.rate_new, name="rate_new"),
    path("prices/rates/hours/", prices.hours_edit, name="hours_edit"),
    path("prices/rates/tax/", prices.tax_new, name="tax_new"),
    path("rules/", rules.rule_list, name="rule_list"),
    path("rules/<slug:rule_id>/", rules.rule_detail, name="rule_detail"),
    path("rules/<slug:rule_id>/setting/", rules.rule_set, name="rule_set"),
]
