// Package diagnosis looks for what would explain a complaint, and for the question that tells the explanations apart.
//
// A hypothesis is a change of the [replay.World] that the complaint's own account gives, and a prior, and nothing else. Each is lived
// through in full by [replay.Run] and held against everything that was sensed and every setting that was said or read
// ([replay.Compare], [replay.CompareClaim]). Singly first; then in pairs, of which each explains something that neither the account nor the
// other does. Of what the account itself tells of, nobody doubts that it is so: it goes with whatever explains the rest.
//
// What comes of it is a [Result]: causes with their posterior probabilities, gathered into sets that the evidence cannot tell apart. 'The
// unit does what its clauses say', 'the plant does what such plants do', 'outside the programmer', 'a statement is mistaken' and 'none
// of these' are causes like any other. [Result.Next] is the question that tells most for what it costs, and [Result.Answer] goes on from
// its answer.
//
// # How sure
//
// The posterior is Bayes' rule over the hypotheses below and 'none of these'. It is only as good as its parts:
//
//   - The priors (priors.go) are common practice, no source.
//   - A statement's likelihood is package replay's. Statements of one kind from one person are not independent, so each after the
//     first counts less (evidence.go).
//   - Something may have begun at any time, and a stretch of the history has as much of that probability as it is long (onsets): what has
//     to have begun just then to explain one evening is a coincidence, and weighs as little.
//   - A setting that was only said may be what somebody meant to set, so a hypothesis about that setting is not held against what was
//     said of it; one that was read off the display is.
//   - Two causes are told apart by a statement which one explains and the other does not, or by a Bayes factor of more than 3 ('not
//     worth more than a bare mention' below it: Kass and Raftery, Bayes Factors, 1995, from memory). That one of them is simpler than the
//     other is no evidence: a set may have single causes and pairs, the more probable first.
//   - Where the account by itself fails what is wanted, that is what is complained of: what explains another statement only is less probable,
//     and the statement rather mistaken.
//   - Mistakes are few: each further statement that has to be mistaken is less probable than the first.
//   - 'None of these' predicts nothing. It is something steady, by which some kinds of thing are the contrary of what the account has, or
//     something erratic (none.go), and its likelihood is that of all such ways together. It is one of a set where nothing that is known here
//     explains the account better by a Bayes factor of more than 3, and wins where nothing does.
//
// The same complaint gives the same result to the byte: the search is bounded by counts, never by the clock.
//
// # Safety
//
// What is asked about gas, carbon monoxide, burning, scalding and people without heat comes before everything else in a result. With a
// smell of gas or of burning or a carbon monoxide alarm there is no next question: nobody is to press or turn anything. The
// package advises on time control only; it replaces no competent or registered person.
package diagnosis
