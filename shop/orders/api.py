"""The API's doors to suppliers and orders."""

urlpatterns: list[object] = []
