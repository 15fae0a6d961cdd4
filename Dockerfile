# One image for the web side and the worker. The same pinned requirements as everywhere else.
FROM debian:12.11-slim

RUN apt-get update \
    && DEBIAN_FRONTEND=noninteractive apt-get install -y --no-install-recommends \
        libharfbuzz-subset0 libpango-1.0-0 libpangoft2-1.0-0 python3 python3-venv \
    && rm -rf /var/lib/apt/lists/*

RUN useradd --system --uid 10001 --home-dir /srv/hosewright --shell /usr/sbin/nologin hosewright \
    && install -d -o hosewright -g hosewright -m 0700 /var/lib/hosewright

WORKDIR /srv/hosewright
COPY requirements.txt ./
RUN python3 -m venv /opt/venv \
    && /opt/venv/bin/pip install --no-cache-dir --disable-pip-version-check -r requirements.txt
COPY manage.py ./
COPY fuelsys ./fuelsys
COPY shop ./shop
COPY templates ./templates
COPY static ./static

ENV DATA_DIR=/var/lib/hosewright \
    LISTEN=0.0.0.0:8000 \
    PATH=/opt/venv/bin:/usr/local/bin:/usr/bin:/bin \
    PYTHONUNBUFFERED=1
USER hosewright
VOLUME /var/lib/hosewright
EXPOSE 8000
CMD ["python", "manage.py", "serve"]
