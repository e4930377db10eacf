"""The pages of the URL conf, and addresses of each on a bench that is served."""

from playwright.sync_api import APIRequestContext

from tests.addresses import found, name_of, shown
from tests.browser.bench import Bench

__all__ = ["addresses", "name_of", "shown"]


def addresses(bench: Bench, client: APIRequestContext) -> dict[str, list[str]]:
    """For each page some of its addresses, the longest page first."""

    def fetch(address: str) -> tuple[int, str, bytes]:
        answer = client.get(bench.url + address, max_redirects=0)
        return answer.status, answer.headers.get("content-type", ""), answer.body()

    return found(fetch)
