# Two commands do everything on a fresh Debian machine: `make demo` and `make test`.
# Each installs what is missing first, once; a second run does no work again.

VENV    := .venv
PY      := $(VENV)/bin/python
READY   := $(VENV)/.ready
TESTING := $(VENV)/.ready-for-tests
WEIGHTS := models/whisper-tiny.en/model.bin
OUT     := demo/out

# System packages: what each is needed for, and how we see that it is there.
#   python3-venv (venv), espeak-ng (speech), libportaudio2 (microphone and loudspeaker)
#   libpango (the record as PDF)
#   pulseaudio and its ALSA plug-in (live microphone), chromium (pages): only the tests
define need
	@missing=""; $(1) \
	if [ -n "$$missing" ]; then \
	  if [ "$$(id -u)" = 0 ]; then as=""; elif command -v sudo >/dev/null 2>&1; then as="sudo"; \
	  else echo "Missing system packages; as root, run: apt-get install$$missing" >&2; exit 1; fi; \
	  echo "Installing system packages:$$missing"; \
	  $$as apt-get update -qq && DEBIAN_FRONTEND=noninteractive $$as apt-get install -y -qq $$missing >/dev/null; \
	fi
endef
PORTAUDIO := ldconfig -p | grep -q libportaudio.so.2
FOR_USE := command -v espeak-ng >/dev/null 2>&1 || missing="$$missing espeak-ng"; \
	{ PATH="$$PATH:/sbin:/usr/sbin"; $(PORTAUDIO); } || missing="$$missing libportaudio2"; \
	ldconfig -p 2>/dev/null | grep -q libpangoft2-1.0 || /sbin/ldconfig -p | grep -q libpangoft2-1.0 || missing="$$missing libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0"; \
	python3 -c 'import ensurepip' >/dev/null 2>&1 || missing="$$missing python3-venv";
FOR_TESTS := command -v pulseaudio >/dev/null 2>&1 || missing="$$missing pulseaudio pulseaudio-utils"; \
	command -v chromium >/dev/null 2>&1 || missing="$$missing chromium"; \
	ls /usr/lib/*/alsa-lib/libasound_module_pcm_pulse.so >/dev/null 2>&1 || missing="$$missing libasound2-plugins";

.PHONY: demo test lint bench clean help

help:
	@echo "make demo   the main job on recorded speech, and its record"
	@echo "make test   lint, types and all tests"
	@echo "make bench  hearing and response measured on recorded speech"

demo: $(READY) $(WEIGHTS)
	@rm -rf $(OUT) && mkdir -p $(OUT)
	@$(VENV)/bin/hoseside job $(OUT)/canteen.job --listen demo/job.yaml --mute $(OUT)/speech.wav
	@$(VENV)/bin/hoseside report $(OUT)/canteen.job
	@echo "What it said, as sound: $(OUT)/speech.wav"

test: $(TESTING) $(WEIGHTS) lint
	$(PY) -m pytest

lint: $(TESTING)
	$(VENV)/bin/ruff check .
	$(VENV)/bin/mypy

bench: $(TESTING) $(WEIGHTS)
	$(PY) -m tests.benchmarks

$(READY): pyproject.toml
	$(call need,$(FOR_USE))
	@echo "Installing Hoseside into $(VENV)..."
	@python3 -m venv $(VENV)
	@$(PY) -m pip install --quiet --disable-pip-version-check --editable .
	@touch $@

$(TESTING): $(READY)
	$(call need,$(FOR_TESTS))
	@$(PY) -m pip install --quiet --disable-pip-version-check --editable '.[test]'
	@touch $@

$(WEIGHTS): $(READY) models/models.yaml
	@$(VENV)/bin/hoseside models --fetch
	@touch $@

clean:
	rm -rf $(VENV) $(OUT) models/whisper-tiny.en
