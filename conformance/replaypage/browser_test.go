package replaypage

import (
	"bytes"
	"image/color"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/hearthbench/conformance/testtool"
)

// browser opens pages in Chromium.
type browser struct {
	t                         *testing.T
	chromium, folder, console string
}

func newBrowser(t *testing.T) *browser {
	return &browser{t: t, chromium: testtool.Need(t, "chromium", "chromium"), folder: t.TempDir()}
}

// file writes a page and returns its path.
func (b *browser) file(name, page string) string {
	path := filepath.Join(b.folder, name)
	require.NoError(b.t, os.WriteFile(path, []byte(page), 0o600))
	return path
}

func (b *browser) open(url string, args ...string) string {
	c := exec.Command(b.chromium, append(append([]string{
		"--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run", "--hide-scrollbars", "--enable-logging=stderr",
		"--user-data-dir=" + filepath.Join(b.folder, "profile"),
	}, args...), "file://"+url)...)
	var errs bytes.Buffer
	c.Stderr = &errs
	out, err := c.Output()
	require.NoError(b.t, err, errs.String())
	// What a page throws, and what its policy turns down, comes on the console.
	assert.NotContains(b.t, errs.String(), "CONSOLE")
	return string(out)
}

// A browser reads the page as it was meant, runs its script, which its policy names by checksum, and complains of nothing. A link into a
// closed table opens it.
func TestInABrowser(t *testing.T) {
	b := newBrowser(t)
	page := sample(t, "only-hot-water.yaml")
	p := parsed(t, page)
	file := b.file("page.html", page)
	var hidden string
	for _, d := range p.all("details", "") {
		if _, open := d.attrs["open"]; open {
			continue
		}
		if rows := d.all("tbody", "")[0].all("tr", ""); rows[0].attrs["id"] != "" {
			hidden = rows[0].attrs["id"]
			break
		}
	}
	require.NotEmpty(t, hidden)
	dom := b.open(file+"#"+hidden, "--dump-dom")
	for _, tag := range []string{"section", "details", "svg", "tr", "rect", "a", "figure"} {
		assert.Equal(t, len(p.all(tag, "")), len(regexp.MustCompile("<"+tag+"[ >]").FindAllString(dom, -1)), tag)
	}
	figures := len(p.all("figure", ""))
	assert.Equal(t, figures, strings.Count(dom, `tabindex="0"><title>`), "one place in each drawing for the Tab key")
	opened := 0
	for _, d := range p.all("details", "") {
		if _, open := d.attrs["open"]; open {
			opened++
		}
	}
	assert.Equal(t, opened+1, strings.Count(dom, `<details open="">`))
}

// The keys walk through a drawing, and the panel tells what they are on. The page's own policy lets nothing of a test run, so it is left out.
func TestKeys(t *testing.T) {
	b := newBrowser(t)
	page := sample(t, "only-hot-water.yaml")
	page = regexp.MustCompile(`<meta http-equiv[^>]*>`).ReplaceAllString(page, "")
	script := `<script>
const links = [...document.querySelectorAll("figure.day")[0].querySelectorAll("svg a")];
const told = document.querySelector(".told");
const press = (key) => document.activeElement.dispatchEvent(new KeyboardEvent("keydown", {key, bubbles: true, cancelable: true}));
const seen = [];
const note = () => seen.push(links.indexOf(document.activeElement) + ": " + told.textContent);
links[0].focus(); note();
press("ArrowRight"); note();
press("ArrowLeft"); press("ArrowLeft"); note();
press("ArrowDown"); note();
press("Home"); note();
links.find((a) => a.querySelector("title").textContent.endsWith("…")).focus();
const whole = told.textContent;
const out = document.createElement("pre");
out.id = "seen";
out.textContent = seen.join("\n") + "\nwhole " + whole + "\nwide " + (document.documentElement.scrollWidth - innerWidth);
document.body.append(out);
</script></body>`
	dom := b.open(b.file("keys.html", strings.Replace(page, "</body>", script, 1)), "--dump-dom", "--window-size=500,900")
	seen := regexp.MustCompile(`(?s)<pre id="seen">(.*?)</pre>`).FindStringSubmatch(dom)
	require.NotNil(t, seen)
	lines := strings.Split(seen[1], "\n")
	require.Len(t, lines, 7)
	// The hot-water relay is the first lane that changes: from before to 06:30, 06:30 to 08:00 and so on, five spans in all; the heating relay
	// stays open.
	assert.True(t, strings.HasPrefix(lines[0], "0: open, from before to 06:30:00. "), lines[0])
	assert.Equal(t, "1: closed, 06:30:00 to 08:00:00. The hot-water relay closed because period 1 begins (MOD-2).", lines[1])
	assert.Equal(t, lines[0], lines[2], "before the first there is nothing")
	assert.True(t, strings.HasPrefix(lines[3], "5: open, from before to the day's end. The heating relay: open since the beginning"), lines[3])
	assert.Equal(t, lines[3], lines[4], "other keys are the browser's")
	assert.Regexp(t, `^whole [a-z]+, .*; the .*\.$`, lines[5], "the chain to its end")
	assert.Equal(t, "wide 0", lines[6], "on a narrow screen nothing but drawings and tables scrolls sideways")
}

// Every page on paper is A4: 210 by 297 mm are 595.28 by 841.89 points, which Chromium rounds to its pixels.
func TestOnPaper(t *testing.T) {
	b := newBrowser(t)
	pdf := filepath.Join(b.folder, "page.pdf")
	b.open(b.file("page.html", sample(t, "an-hour-late.yaml")), "--no-pdf-header-footer", "--print-to-pdf="+pdf)
	data, err := os.ReadFile(pdf)
	require.NoError(t, err)
	boxes := regexp.MustCompile(`/MediaBox \[0 0 (\d+)\.\d+ (\d+)\.\d+\]`).FindAllStringSubmatch(string(data), -1)
	assert.Greater(t, len(boxes), 2)
	assert.Less(t, len(boxes), 12)
	for _, box := range boxes {
		assert.Contains(t, []string{"594", "595"}, box[1])
		assert.Contains(t, []string{"841", "842"}, box[2])
	}
}

// By day the page is white, by night dark, with the text the other way round; both have the colours of the drawing.
func TestLightAndDark(t *testing.T) {
	b := newBrowser(t)
	file := b.file("page.html", sample(t, "off-at-four.yaml"))
	colours := func(args ...string) (corner color.Color, all map[color.Color]bool) {
		shot := filepath.Join(b.folder, "shot.png")
		b.open(file, append(args, "--screenshot="+shot, "--window-size=1100,1300")...)
		f, err := os.Open(shot)
		require.NoError(t, err)
		defer f.Close()
		picture, err := png.Decode(f)
		require.NoError(t, err)
		all = map[color.Color]bool{}
		for y := picture.Bounds().Min.Y; y < picture.Bounds().Max.Y; y++ {
			for x := picture.Bounds().Min.X; x < picture.Bounds().Max.X; x++ {
				all[color.RGBAModel.Convert(picture.At(x, y))] = true
			}
		}
		return color.RGBAModel.Convert(picture.At(1, 1)), all
	}
	light, colourful := colours()
	assert.Equal(t, color.RGBA{0xff, 0xff, 0xff, 0xff}, light)
	assert.Contains(t, colourful, color.RGBA{0x00, 0x72, 0xb2, 0xff}, "bars")
	assert.Contains(t, colourful, color.RGBA{0x1b, 0x1f, 0x24, 0xff}, "ink")
	dark, colourful := colours("--blink-settings=preferredColorScheme=0")
	assert.Equal(t, color.RGBA{0x14, 0x18, 0x1c, 0xff}, dark)
	assert.Contains(t, colourful, color.RGBA{0xdf, 0xe3, 0xe7, 0xff}, "ink")
	assert.NotContains(t, colourful, color.RGBA{0xff, 0xff, 0xff, 0xff}, "nothing glares")
}
