package main

import (
	"net/http"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const (
	stranger = "812345678901234599"
	patience = 20 * time.Second
	tick     = time.Millisecond
)

// eitherDoor tells the same story over the gateway and by signed requests.
func eitherDoor(t *testing.T, story func(t *testing.T, c *chatServer)) {
	for name, byHTTP := range map[string]bool{"over the gateway": false, "by signed requests": true} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			c := openChatServer(t, byHTTP)
			c.beginBot()
			story(t, c)
		})
	}
}

// The life of a piece as its maker meets it in the chat, each step in its own
// function; a further one is a line here.
func TestThePiecesLifeIsLivedInTheChat(t *testing.T) {
	t.Parallel()
	eitherDoor(t, func(t *testing.T, c *chatServer) {
		settingOnce(t, c)
		pricing(t, c)
		sold := making(t, c)
		shared := sharing(t, c, sold)
		takingBack(t, c, shared)
		askingTheMarket(t, c)
	})
}

// settingOnce fills in the form of the settings, and changes one of them.
func settingOnce(t *testing.T, c *chatServer) {
	form := c.types(member, "settings set", nil)
	set := c.fills(member, form, map[string]string{"rate": "25", "lowest-rate": "18"})
	assert.True(t, set.hidden(), "money is answered to the asker alone")
	assert.Contains(t, set.text(), "$25.00 an hour")

	form = c.presses(member, c.types(member, "settings show", nil), "Change them")
	assert.Equal(t, map[string]string{"rate": "25.00", "lowest-rate": "18.00", "haggle": "", "step": "", "tax": ""}, form.fields(), "what is set stands there already")
	set = c.fills(member, form, map[string]string{"haggle": "a bit"})
	assert.Contains(t, set.text(), "is not a percentage")
	form = c.presses(member, set, "Put it right")
	assert.Equal(t, "a bit", form.fields()["haggle"])
	assert.Contains(t, c.fills(member, form, map[string]string{"haggle": "12%"}).text(), "12 %")
}

// pricing asks for a price and steps it up and down where it stands. The figures
// are those of testdata/published/golden-piece.csv.
func pricing(t *testing.T, c *chatServer) {
	card := c.types(member, "price", map[string]string{"hours": "14.25", "materials": "124.90", "fee": "2.9%", "fixed-fee": "0.30"})
	assert.True(t, card.hidden())
	for _, want := range []string{"128.94", "495.83", "563.45"} {
		assert.Contains(t, card.text(), want)
	}
	seeing(t, c, card)

	up := c.presses(member, card, "Try $580.00")
	assert.EqualValues(t, 7, up.kind, "the card changes where it stands")
	assert.Contains(t, up.text(), "At $580.00, an hour pays")
	longer := c.presses(member, up, "What if it takes two hours more")
	assert.Contains(t, longer.text(), "16 h 15 min")
	assert.Contains(t, longer.text(), "At $580.00")
	shorter := c.presses(member, longer, "Two hours less")
	assert.Contains(t, shorter.text(), "14 h 15 min")
	assert.Contains(t, c.presses(stranger, card, "Try $580.00").text(), "belongs to somebody else's answer")

	open := c.types(member, "price", map[string]string{"hours": "8", "materials": "40", "public": "yes"})
	assert.False(t, open.hidden(), "the member says that all may see it")
	assert.Contains(t, c.presses(stranger, open, "What if it takes two hours more").text(), "belongs to somebody else's answer")
	assert.EqualValues(t, 7, c.presses(member, open, "What if it takes two hours more").kind)
}

// seeing asks for the picture of a price, which is drawn then and not before.
func seeing(t *testing.T, c *chatServer, card shown) {
	assert.Empty(t, card.files)
	assert.Contains(t, c.presses(stranger, card, "Show the picture").text(), "belongs to somebody else's answer")
	c.endBot()
	c.beginBot()
	pictured := c.presses(member, card, "Show the picture")
	assert.Contains(t, pictured.text(), "495.83", "the card stays")
	assert.Contains(t, pictured.text(), "attachment://prices.png")
	assert.True(t, strings.HasPrefix(string(pictured.files["prices.png"]), "\x89PNG"))
	alt := pictured.body["attachments"].([]any)[0].(map[string]any)["description"]
	assert.Contains(t, alt, "495.83 (target) pays 25.00", "and says in words what it shows")
	assert.NotContains(t, pictured.buttons(), "Show the picture")
	assert.EqualValues(t, 6, c.bring(c.press(member, card, "Show the picture")).kind, "pressed twice")
}

// making opens a piece by its form, works on it with the clock's buttons, pays for
// it, offers it and sells it. The figures are those of
// testdata/published/golden-piece.csv.
func making(t *testing.T, c *chatServer) shown {
	open := c.fills(member, c.types(member, "piece open", nil), map[string]string{"name": "Harbour bench", "category": "bench", "rate": "25"})
	assert.True(t, open.hidden(), "a job sheet is its maker's alone")
	assert.Contains(t, open.text(), "Piece 1 is open: Harbour bench")
	assert.Contains(t, c.presses(stranger, open, "Start the clock").text(), "belongs to somebody else's answer")

	running := c.presses(member, open, "Start the clock")
	assert.Contains(t, running.text(), "Your clock runs on piece 1")
	assert.EqualValues(t, 6, c.bring(c.press(member, open, "Start the clock")).kind, "a bounce of the thumb starts no second clock")
	c.endBot()
	c.beginBot() // the clock runs on
	stopped := c.presses(member, running, "Stop it")
	assert.Contains(t, stopped.text(), "Piece 1, Harbour bench")

	form := c.types(member, "piece time", nil)
	assert.Contains(t, c.fills(member, form, map[string]string{"worked": "14h15", "stage": "all of it"}).text(), "14 h 15 min")
	assert.Contains(t, c.completes(member, "piece show", "piece", "harbor"), "1", "one's own pieces are offered, whatever slips")
	assert.Contains(t, c.types(member, "piece plan", map[string]string{"fee": "2.9%", "fixed-fee": "0.30"}).text(), "The plan of piece 1 is changed")
	assert.Contains(t, c.types(member, "piece cost", map[string]string{"kind": "other", "paid": "124.90"}).text(), "128.94")
	assert.Contains(t, c.types(member, "piece post", map[string]string{"price": "480", "where": "fair"}).text(), "Offered at fair")

	sold := c.fills(member, c.types(member, "piece sold", nil), map[string]string{"price": "430"})
	assert.True(t, sold.hidden())
	for _, want := range []string{"final accounting", "292.33", "128.94"} {
		assert.Contains(t, sold.text(), want)
	}
	return sold
}

// sharing reads the preview of the piece that was sold, and confirms twice.
func sharing(t *testing.T, c *chatServer, sold shown) shown {
	assert.Equal(t, "bench", c.completes(member, "sale share", "category", "bnech")[0], "a slip of the finger is understood")
	byHand := c.fills(member, c.types(member, "sale share", nil), map[string]string{"price": "430", "category": "bench", "hours": "14.25", "materials": "124.90"})
	assert.Contains(t, byHand.text(), "Preview: exactly this would leave")
	preview := c.presses(member, sold, "Share it with the local log, after a preview")
	assert.Contains(t, preview.text(), "Preview: exactly this would leave")
	assert.Contains(t, c.types(member, "sale mine", nil).text(), "You have shared no sale", "a preview shares nothing")
	shared := c.presses(member, preview, "Share it")
	assert.Contains(t, shared.text(), "Shared, as your sale 1")
	again := c.press(member, preview, "Share it")
	assert.EqualValues(t, 6, c.bring(again).kind, "the second press is seen, and nothing is shown")

	c.endBot()
	c.beginBot() // the card is still there, and works
	assert.Contains(t, c.presses(member, preview, "Share it").text(), "Already shared")
	assert.Equal(t, 1, strings.Count(c.types(member, "sale mine", nil).text(), "$430"), "once is once")
	return shared
}

func takingBack(t *testing.T, c *chatServer, shared shown) {
	assert.Contains(t, c.presses(member, shared, "Withdraw it again").text(), "Withdrawn")
	assert.Contains(t, c.types(member, "sale mine", nil).text(), "You have shared no sale")
}

func askingTheMarket(t *testing.T, c *chatServer) {
	answer := c.types(member, "market show", map[string]string{"category": c.completes(member, "market show", "category", "ben")[0]})
	assert.False(t, answer.hidden(), "what all may know, all may see")
	assert.NotEmpty(t, answer.body["embeds"])
}

// A question to the room is everybody's card: whoever answered last, the others may
// still answer it, and the asker close it.
func TestSeveralMembersAnswerOneCardAndItsAskerClosesIt(t *testing.T) {
	t.Parallel()
	eitherDoor(t, func(t *testing.T, c *chatServer) {
		const another = "812345678901234598"
		told := c.types(member, "charge", map[string]string{"about": "hall bench 48x14x18 elm, 14h15, 84 materials, want 25/h"})
		card := c.fills(member, c.presses(member, told, "Ask the room"), nil)
		require.False(t, card.hidden(), "all may see it")
		for answers, who := range []string{stranger, another} {
			card = c.fills(who, c.presses(who, card, "Say your price"), map[string]string{"price": "517"})
			assert.EqualValues(t, 7, card.kind, "the card changes where it stands")
			assert.False(t, card.hidden())
			assert.Contains(t, card.text(), []string{"One answer so far", "2 answers so far"}[answers])
		}
		assert.Contains(t, c.presses(stranger, card, "Close it (asker)").text(), "Only who asked it can close it")
		closed := c.presses(member, card, "Close it (asker)")
		assert.EqualValues(t, 7, closed.kind)
		assert.Contains(t, closed.text(), "**Closed**: ")
		assert.Empty(t, closed.buttons())
	})
}

// The platform is in trouble while a sale is shared: its answers fail, the event
// comes twice, the line is cut. The sale is there once.
func TestASaleSharedInTroubleIsNeitherLostNorDoubled(t *testing.T) {
	t.Parallel()
	for name, status := range map[string]int{"500": http.StatusInternalServerError, "502": http.StatusBadGateway, "503": http.StatusServiceUnavailable, "never taken": http.StatusForbidden} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			c := openChatServer(t, false)
			c.beginBot()
			preview := c.types(member, "sale share", map[string]string{"price": "430", "category": "bench"})
			var failed atomic.Int64
			trouble := func(path string) int {
				if strings.HasPrefix(path, "/interactions/") && (failed.Add(1) <= 2 || status == http.StatusForbidden) {
					return status
				}
				return 0
			}
			c.fails.Store(&trouble)
			press := c.press(member, preview, "Share it")
			c.event("INTERACTION_CREATE", string(press.body))
			if status == http.StatusForbidden {
				require.Eventually(t, func() bool { return failed.Load() > 0 }, patience, tick)
			} else {
				assert.Contains(t, c.next(press).text(), "Shared, as your sale 1")
			}
			none := func(string) int { return 0 }
			c.fails.Store(&none)
			c.cut()
			c.event("INTERACTION_CREATE", string(press.body)) // replayed
			assert.Equal(t, 1, strings.Count(c.types(member, "sale mine", nil).text(), "$430"))
			c.endBot()
			c.beginBot()
			if status == http.StatusForbidden { // what was not seen is asked for again
				assert.Contains(t, c.presses(member, preview, "Share it").text(), "Already shared")
			}
			assert.Equal(t, 1, strings.Count(c.types(member, "sale mine", nil).text(), "$430"))
		})
	}
}

// The program is told to stop while a confirmation is on its way. Either it was
// taken, and the sale is there, or it was not, and may be pressed again.
func TestASaleSharedAtTheLastMomentIsThereOnceAfterTheRestart(t *testing.T) {
	t.Parallel()
	c := openChatServer(t, false)
	c.beginBot()
	preview := c.types(member, "sale share", map[string]string{"price": "430", "category": "bench"})
	c.event("INTERACTION_CREATE", string(c.press(member, preview, "Share it").body))
	c.endBot()
	c.beginBot()
	assert.Regexp(t, "Already shared|Shared, as your sale 1", c.presses(member, preview, "Share it").text())
	assert.Equal(t, 1, strings.Count(c.types(member, "sale mine", nil).text(), "$430"))
}
