package store_test

import (
	"bufio"
	"context"
	"fmt"
	"os"
	"os/exec"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/store"
)

// asChild names a task that this test program does in a process of its own.
const asChild = "TALLYSTICK_TEST_CHILD"

func TestMain(m *testing.M) {
	if task := os.Getenv(asChild); task != "" {
		children[task](os.Args[len(os.Args)-1])
		return
	}
	os.Exit(m.Run())
}

// children are the tasks; each is given a folder.
var children = map[string]func(folder string){"hold": childHolds}

// child starts a task in a process of its own.
func child(t *testing.T, task, folder string) *exec.Cmd {
	t.Helper()
	program, err := os.Executable()
	require.NoError(t, err)
	c := exec.CommandContext(t.Context(), program, folder)
	c.Env = append(os.Environ(), asChild+"="+task)
	c.Stderr = os.Stderr
	return c
}

// held starts a process that has the database open and has shared a sale.
func held(t *testing.T, folder string) *exec.Cmd {
	t.Helper()
	return heldBy(t, "hold", folder)
}

// heldBy starts a process that says when it holds the database.
func heldBy(t *testing.T, task, folder string) *exec.Cmd {
	t.Helper()
	c := child(t, task, folder)
	out, err := c.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, c.Start())
	t.Cleanup(func() { _ = c.Process.Kill(); _ = c.Wait() })
	said, err := bufio.NewReader(out).ReadString('\n')
	require.NoError(t, err)
	require.Equal(t, "holding\n", said)
	return c
}

func childHolds(folder string) {
	s, err := store.Open(context.Background(), config(folder))
	if err != nil {
		fmt.Println(err)
		return
	}
	code, err := s.SaveDraft(context.Background(), ann, bench(100), noon)
	if err == nil {
		_, err = s.ShareDraft(context.Background(), ann, "held", code, 1, noon)
	}
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("holding")
	time.Sleep(time.Minute) // until it is ended
}

func TestADatabaseHeldByAnotherProcessIsRefusedUntilThatOneDies(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	other := held(t, folder)
	began := time.Now()
	refused := refusal(t, config(folder))
	assert.Equal(t, store.Held, refused.Refusal)
	assert.Contains(t, refused.Error(), "in use by another tallystick; end that one first")
	assert.Greater(t, time.Since(began), time.Second, "it waits a little before it gives up")

	require.NoError(t, other.Process.Kill())
	_ = other.Wait()
	assert.Equal(t, []int{1}, numbers(t, open(t, config(folder)), ann), "what the dead process was told to keep is there")
}

func TestADatabaseThatIsGivenUpInTimeIsWaitedFor(t *testing.T) {
	t.Parallel()
	c := closed(t)
	s, err := store.Open(t.Context(), c)
	require.NoError(t, err)
	given := make(chan error, 1)
	time.AfterFunc(300*time.Millisecond, func() { given <- s.Close() })
	assert.Equal(t, []int{1}, numbers(t, open(t, c), ann))
	require.NoError(t, <-given)
}
