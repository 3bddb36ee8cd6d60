package commands

import "context"

// Handler answers one kind of request. It returns and never sends.
type Handler func(context.Context, Request) (Reply, error)

// Command is one definition, from which every transport's registration, the
// console's completion, the help and the README's table are made.
type Command struct {
	// Path is one to three lower-case words: "price", "sale share".
	Path string
	// Summary is one phrase of at most 100 characters.
	Summary string
	Options []Option
	// Examples are whole lines that work as they stand.
	Examples []string
	// Private is true when the answer names money or a member's own work. A
	// transport that must acknowledge before it has the reply goes by this.
	Private bool
	// HostOnly is true when only who runs the community may use it. The dispatcher
	// refuses everybody else; a transport may hide it from them as well.
	HostOnly bool
	// Public is true when the member may show the answer to all by public:yes.
	Public bool
	// Ask lists the options that the command's form asks for, at most MaxFields, in
	// order; none means that there is no form. FormTitle stands over them. A transport
	// may open the form for a request without any option.
	Ask       []string
	FormTitle string
	// Prefill gives the values that stand in the form already, by option, where the
	// request does not say them; nil means none beside those of the request.
	Prefill func(context.Context, Request) (map[string]string, error)
	Run     Handler
}

// noCommand stands in a request that no command's options are read of.
var noCommand = &Command{}

// Option finds an option by name.
func (c Command) Option(name string) (Option, bool) {
	for _, o := range c.Options {
		if o.Name == name {
			return o, true
		}
	}
	return Option{}, false
}

// Kind says what an option's text is read as.
type Kind string

// The kinds of option.
const (
	Quantity Kind = "measure"
	Length   Kind = "length"
	Number   Kind = "number"
	Unit     Kind = "unit"
	Boards   Kind = "boards"
	Size     Kind = "size"
	Money    Kind = "money"
	Rate     Kind = "money an hour"
	// PerFoot is money for a board foot, or for a cubic metre where bare numbers are
	// metric.
	PerFoot  Kind = "money a board foot or m3"
	Percent  Kind = "percentage"
	Hours    Kind = "time"
	Span     Kind = "time, or from-to"
	PerTrip  Kind = "money a mile or km"
	Distance Kind = "distance"
	Discount Kind = "money or percentage"
	Portion  Kind = "amount"
	Days     Kind = "days"
	Month    Kind = "month"
	Word     Kind = "word"
	Code     Kind = "code"
	YesNo    Kind = "yes or no"
	// Person is a member of the community, as the transport knows them.
	Person Kind = "member"
	// List is words with commas between them.
	List  Kind = "list"
	Count Kind = "whole number"
	Text  Kind = "text"
	Date  Kind = "date"
	// FileText is the text of a file. A transport that takes files hands over what
	// is in one; a handler never opens any.
	FileText Kind = "file"
)

// Option is one named value of a command. All options travel as text.
type Option struct {
	Name string
	// Summary is one phrase of at most 100 characters.
	Summary  string
	Kind     Kind
	Required bool
	// MaxLength caps the text, in characters; 0 means DefaultMaxLength.
	MaxLength int
	// Example is a value that works.
	Example string
	// Choices, when there are any, are all the values that are taken.
	Choices []Choice
	// Complete offers values for what has been typed so far.
	Complete func(ctx context.Context, req Request, typed string) ([]Choice, error)
}

// DefaultMaxLength is how much of an option is looked at unless it says more.
const DefaultMaxLength = 120

// publicOption is added to every command that is Public.
var publicOption = Option{Name: "public", Summary: "yes shows the answer to everybody here", Kind: YesNo, Example: "yes", Choices: []Choice{{"yes", "yes"}}}

// Limit is the longest text the option takes, in characters.
func (o Option) Limit() int {
	if o.MaxLength > 0 {
		return o.MaxLength
	}
	return DefaultMaxLength
}

// Choice is a value with the words shown for it.
type Choice struct{ Value, Label string }
