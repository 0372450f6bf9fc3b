# Two stages: the packages are built where pip and its leavings are, and only they come along.
FROM python:3.11-slim-bookworm AS packages
COPY requirements.txt .
RUN python -m venv /opt/burnline \
    && /opt/burnline/bin/pip install --no-cache-dir --require-hashes -r requirements.txt

FROM python:3.11-slim-bookworm
RUN useradd --system --uid 10001 --home-dir /app --shell /usr/sbin/nologin burnline \
    && install -d -o burnline -g burnline -m 700 /data
COPY --from=packages /opt/burnline /opt/burnline
WORKDIR /app
COPY manage.py ./
COPY arsenal arsenal
COPY config config
COPY motion motion
COPY patterns patterns
COPY script script
COPY sessions sessions
COPY static static
COPY templates templates
ENV PATH=/opt/burnline/bin:$PATH \
    PYTHONUNBUFFERED=1 \
    PYTHONDONTWRITEBYTECODE=1 \
    BURNLINE_DATA=/data
USER burnline
VOLUME /data
EXPOSE 8000
# script/processes.py holds the command lines, for these containers as for script/server.
ENTRYPOINT ["python", "-m", "script.processes"]
CMD ["web", "--bind", "0.0.0.0:8000"]
