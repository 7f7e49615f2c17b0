#!/bin/sh
# Run by `cargo xtask bundle --check` as root of a new system in which the package has just been installed.
# Each step says what it holds; the first that does not hold ends it.
set -eu

fail() {
    echo "try-installed: $1" >&2
    exit 1
}

as_user() {
    setpriv --reuid=65534 --regid=65534 --clear-groups --inh-caps=-all \
        env -i PATH=/usr/bin:/bin HOME=/tmp/home LANG=C.UTF-8 "$@"
}

mkdir -p /tmp/home
cp -r /tmp/seed-catalog /tmp/home/seed-catalog
chown -R 65534:65534 /tmp/home
cd /tmp/home

echo "both programs start, as somebody who is not root"
as_user boxworth --version
as_user boxworth-app --version

echo "the seed is taken in and ranked"
shelf=/tmp/home/seed.boxworth
as_user boxworth new "$shelf"
as_user boxworth --catalogue "$shelf" --no-progress import /tmp/home/seed-catalog
as_user boxworth --catalogue "$shelf" --require-sandbox band 200..500 >band.txt
head -n 12 band.txt
grep -q ' ranked, ' band.txt || fail "the band has no standings"

echo "all four plugins are loaded, and shut in completely"
as_user boxworth --catalogue "$shelf" --require-sandbox plugin list | tee plugins.txt
[ "$(grep -c 'this build  full$' plugins.txt)" -eq 4 ] || fail "a plugin is missing or not shut in"

echo "the system knows the kind of file, the launcher, the manual and the completions"
grep -q ':application/x-boxworth-catalogue:\*\.boxworth' /usr/share/mime/globs2 ||
    fail "the kind of file is not in the database"
for file in applications/org.boxworth.app.desktop icons/hicolor/128x128/apps/org.boxworth.app.png \
    man/man1/boxworth.1.gz bash-completion/completions/boxworth doc/boxworth/copyright; do
    [ -s "/usr/share/$file" ] || fail "/usr/share/$file is missing"
done
zcat /usr/share/doc/boxworth/third-parties.txt.gz | grep -q '^serde ' || fail "no terms of libraries"

echo "removed, it leaves nothing"
dpkg --purge boxworth >/dev/null
for place in /usr/lib/boxworth /usr/bin/boxworth /usr/bin/boxworth-app /usr/share/doc/boxworth; do
    [ ! -e "$place" ] && [ ! -L "$place" ] || fail "$place is left"
done
