/*
 * Broadcasts and connections of the transport protocol (SAE J1939-21 5.10), as sequences:
 * what is sent, and how it ends. The script is explained in support/transfer_talk.h.
 */
#include <criterion/criterion.h>

#include "support/transfer_talk.h"

Test(decoding_transport, broadcasts)
{
    static const struct talk_sequence rows[] = {
        {"whole", "0 BAM 1>255 20\n50 DT 1>255 1\n100 DT 1>255 2\n150 DT 1>255 3",
         "complete 1>255 20B 3/3"},
        {"two at once from two senders, their packets between each other",
         "0 BAM 1>255 14\n1 BAM 2>255 9\n50 DT 2>255 1\n51 DT 1>255 1\n100 DT 1>255 2\n"
         "101 DT 2>255 2", "complete 1>255 14B 2/2; complete 2>255 9B 2/2"},
        {"the same sender on two interfaces",
         "0 BAM 1>255 14\n@1 1 BAM 1>255 9\n50 DT 1>255 1\n@1 51 DT 1>255 1\n100 DT 1>255 2\n"
         "@1 101 DT 1>255 2", "complete 1>255 14B 2/2; complete 1>255 9B 2/2"},
        {"all 255 packets have room", "0 BAM 1>255 1785\n50 DT 1>255 255",
         "unfinished 1>255 1785B 1/255 lacks 1"},
        {"a gap of T1 is allowed, to the nanosecond", "0 BAM 1>255 14\n750 DT 1>255 1\n"
         "1500 DT 1>255 2", "complete 1>255 14B 2/2"},
        {"longer than T1 is lost for all, and what comes then strays",
         "0 BAM 1>255 14\n100 DT 1>255 1\n851 DT 1>255 2",
         "timed-out 1>255 14B 1/2 lacks 2 T1 at 850 | stray data 1, control 0"},
        {"no data at all", "0 BAM 1>255 14\n500 BUS 9>255\n800 BUS 9>255",
         "timed-out 1>255 14B 0/2 lacks 1 T1 at 750"},
        {"one packet is lost in the middle", "0 BAM 1>255 20\n50 DT 1>255 1\n150 DT 1>255 3\n"
         "500 BUS 9>255\n950 BUS 9>255", "timed-out 1>255 20B 2/3 lacks 2 T1 at 900"},
        {"out of order", "0 BAM 1>255 20\n50 DT 1>255 3\n100 DT 1>255 1\n150 DT 1>255 2",
         "complete 1>255 20B 3/3"},
        {"the same packet twice", "0 BAM 1>255 20\n50 DT 1>255 1\n51 DT 1>255 1\n100 DT 1>255 2\n"
         "150 DT 1>255 3", "complete 1>255 20B 3/3 repeated 1"},
        {"twice with other content: nobody knows which holds",
         "0 BAM 1>255 20\n50 DT 1>255 1\n51 ODT 1>255 1\n100 DT 1>255 2\n150 DT 1>255 3",
         "broken 1>255 20B 1/3 repeated 1 lacks 2 breach 3 | stray data 2, control 0"},
        {"a new one takes its place", "0 BAM 1>255 20\n50 DT 1>255 1\n100 BAM 1>255 14\n"
         "150 DT 1>255 1\n200 DT 1>255 2",
         "replaced 1>255 20B 1/3 lacks 2; complete 1>255 14B 2/2"},
        {"the announcement was recorded twice", "0 BAM 1>255 14\n0 BAM 1>255 14\n50 DT 1>255 1\n"
         "100 DT 1>255 2", "complete 1>255 14B 2/2 announced 2"},
        {"packets that do not fit the size", "0 BAM 1>255 20 4\n50 DT 1>255 1",
         "broken 1>255 20B 0/4 lacks 1 breach 1 | stray data 1, control 0"},
        {"nothing announced", "0 BAM 1>255 0 1\n50 DT 1>255 1",
         "broken 1>255 0B 0/1 lacks 1 breach 1 | stray data 1, control 0"},
        {"a number beyond the last", "0 BAM 1>255 14\n50 DT 1>255 1\n60 DT 1>255 3\n70 DT 1>255 0\n"
         "100 DT 1>255 2", "complete 1>255 14B 2/2 ungranted 2"},
        {"the recording begins amid it", "0 DT 1>255 2\n50 DT 1>255 3",
         " | stray data 2, control 0"},
        {"the recording ends amid it", "0 BAM 1>255 14\n50 DT 1>255 1",
         "unfinished 1>255 14B 1/2 lacks 2"},
        {"the recording pauses amid it: what came then nobody knows",
         "0 BAM 1>255 14\n50 DT 1>255 1\n1100 BUS 9>255\n1150 BUS 9>255",
         "unfinished 1>255 14B 1/2 lacks 2"},
        {"another bus that goes on tells nothing of this one",
         "0 BAM 1>255 14\n50 DT 1>255 1\n@1 900 BUS 9>255\n@1 5000 BUS 9>255\n"
         "5001 BUS 9>255", "unfinished 1>255 14B 1/2 lacks 2"},
        {"the sender takes it back", "0 BAM 1>255 14\n50 DT 1>255 1\n60 ABORT 1>255 250",
         "aborted 1>255 14B 1/2 lacks 2 reason 250 by originator"},
        {"to one destination a broadcast is none", "0 BAM 1>2 14",
         " | stray data 0, control 1"},
        {"a request to all is none", "0 RTS 1>255 14", " | stray data 0, control 1"},
    };
    TALK_EXPECT(rows);
}

Test(decoding_transport, connections)
{
    static const struct talk_sequence rows[] = {
        {"whole", "0 RTS 1>2 20\n1 CTS 2>1 3 1\n2 DT 1>2 1\n3 DT 1>2 2\n4 DT 1>2 3\n5 ACK 2>1 20",
         "complete 1>2 20B 3/3 ack"},
        {"in two grants", "0 RTS 1>2 20\n1 CTS 2>1 2 1\n2 DT 1>2 1\n3 DT 1>2 2\n4 CTS 2>1 1 3\n"
         "5 DT 1>2 3\n6 ACK 2>1 20", "complete 1>2 20B 3/3 ack"},
        {"both ways at once, the same group", "0 RTS 1>2 9\n0 RTS 2>1 14\n1 CTS 2>1 2 1\n"
         "1 CTS 1>2 2 1\n2 DT 1>2 1\n2 DT 2>1 1\n3 DT 1>2 2\n3 DT 2>1 2\n4 ACK 1>2 14\n"
         "5 ACK 2>1 9", "complete 2>1 14B 2/2 ack; complete 1>2 9B 2/2 ack"},
        {"one to one and to all at once", "0 RTS 1>2 9\n0 BAM 1>255 9\n1 CTS 2>1 2 1\n"
         "2 DT 1>2 1\n2 DT 1>255 1\n3 DT 1>255 2\n3 DT 1>2 2\n4 ACK 2>1 9",
         "complete 1>255 9B 2/2; complete 1>2 9B 2/2 ack"},
        {"holds, then goes on", "0 RTS 1>2 9\n1 CTS 2>1 0 255\n501 CTS 2>1 0 255\n"
         "1000 CTS 2>1 2 1\n1001 DT 1>2 1\n1002 DT 1>2 2\n1003 ACK 2>1 9",
         "complete 1>2 9B 2/2 ack"},
        {"asks again for one that was lost", "0 RTS 1>2 20\n1 CTS 2>1 3 1\n2 DT 1>2 1\n4 DT 1>2 3\n"
         "5 CTS 2>1 1 2\n6 DT 1>2 2\n7 ACK 2>1 20", "complete 1>2 20B 3/3 ack"},
        {"asks again for what had come", "0 RTS 1>2 20\n1 CTS 2>1 3 1\n2 ODT 1>2 1\n3 DT 1>2 2\n"
         "4 DT 1>2 3\n5 CTS 2>1 3 1\n6 DT 1>2 1\n7 DT 1>2 2\n8 DT 1>2 3\n9 ACK 2>1 20",
         "complete 1>2 20B 3/3 ack"},
        {"more granted than is left", "0 RTS 1>2 9\n1 CTS 2>1 16 1\n2 DT 1>2 1\n3 DT 1>2 2\n"
         "4 ACK 2>1 9", "complete 1>2 9B 2/2 ack"},
        {"a packet twice under one grant", "0 RTS 1>2 9\n1 CTS 2>1 2 1\n2 DT 1>2 1\n2 DT 1>2 1\n"
         "3 DT 1>2 2\n4 ACK 2>1 9", "complete 1>2 9B 2/2 ack repeated 1"},
        {"asks again, unheard", "0 RTS 1>2 9\n1250 RTS 1>2 9\n1251 CTS 2>1 2 1\n1252 DT 1>2 1\n"
         "1253 DT 1>2 2\n1254 ACK 2>1 9", "complete 1>2 9B 2/2 ack announced 2"},
        {"all came, the acknowledgement is not in the recording",
         "0 RTS 1>2 9\n1 CTS 2>1 2 1\n2 DT 1>2 1\n3 DT 1>2 2\n800 BUS 9>255\n1500 BUS 9>255",
         "complete 1>2 9B 2/2"},
        {"all came, the next request shows that it was done",
         "0 RTS 1>2 9\n1 CTS 2>1 2 1\n2 DT 1>2 1\n3 DT 1>2 2\n40 RTS 1>2 14",
         "complete 1>2 9B 2/2; unfinished 1>2 14B 0/2 lacks 1"},
        {"a packet is not in the recording, but acknowledged",
         "0 RTS 1>2 20\n1 CTS 2>1 3 1\n2 DT 1>2 1\n4 DT 1>2 3\n5 ACK 2>1 20",
         "unrecorded 1>2 20B 2/3 ack lacks 2"},
        {"a grant is not in the recording: its packets do not count",
         "0 RTS 1>2 9\n2 DT 1>2 1\n3 DT 1>2 2\n4 ACK 2>1 9",
         "unrecorded 1>2 9B 0/2 ack ungranted 2 lacks 1"},
        {"the last one may be cut: seven bytes or less", "0 RTS 1>2 8\n1 CTS 2>1 2 1\n2 DT 1>2 1\n"
         "3 DT 1>2 2\n4 ACK 2>1 8", "complete 1>2 8B 2/2 ack"},
    };
    TALK_EXPECT(rows);
}

Test(decoding_transport, connections_that_fail)
{
    static const struct talk_sequence rows[] = {
        {"the receiver refuses", "0 RTS 1>2 9\n1 ABORT 2>1 2",
         "aborted 1>2 9B 0/2 lacks 1 reason 2 by receiver"},
        {"the originator gives up", "0 RTS 1>2 9\n1251 ABORT 1>2 3",
         "aborted 1>2 9B 0/2 lacks 1 reason 3 by originator"},
        {"data after the abort stray", "0 RTS 1>2 9\n1 CTS 2>1 2 1\n2 DT 1>2 1\n3 ABORT 2>1 6\n"
         "4 DT 1>2 2", "aborted 1>2 9B 1/2 lacks 2 reason 6 by receiver | stray data 1, control 0"},
        {"aborted though all came: not delivered", "0 RTS 1>2 9\n1 CTS 2>1 2 1\n2 DT 1>2 1\n"
         "3 DT 1>2 2\n1260 ABORT 1>2 3", "aborted 1>2 9B 2/2 reason 3 by originator"},
        {"an abort of another group is none", "0 RTS 1>2 9\n1 ABORT 2>1 2 /65250",
         "unfinished 1>2 9B 0/2 lacks 1 | stray data 0, control 1"},
        {"nobody answers, nobody says so", "0 RTS 1>2 9\n700 BUS 9>255\n1449 BUS 9>255\n"
         "1451 BUS 9>255", "timed-out 1>2 9B 0/2 lacks 1 T3 at 1250"},
        {"the one whose timer ran out has Tr to say so", "0 RTS 1>2 9\n700 BUS 9>255\n"
         "1450 ABORT 1>2 3", "aborted 1>2 9B 0/2 lacks 1 reason 3 by originator"},
        {"granted, nothing comes", "0 RTS 1>2 9\n1 CTS 2>1 2 1\n700 BUS 9>255\n1460 BUS 9>255",
         "timed-out 1>2 9B 0/2 lacks 1 T2 at 1251"},
        {"data stop within a grant", "0 RTS 1>2 20\n1 CTS 2>1 3 1\n2 DT 1>2 1\n700 BUS 9>255\n"
         "960 BUS 9>255", "timed-out 1>2 20B 1/3 lacks 2 T1 at 752"},
        {"no grant after a bunch", "0 RTS 1>2 20\n1 CTS 2>1 1 1\n2 DT 1>2 1\n700 BUS 9>255\n"
         "1460 BUS 9>255", "timed-out 1>2 20B 1/3 lacks 2 T3 at 1252"},
        {"a hold that never ends", "0 RTS 1>2 9\n1 CTS 2>1 0 1\n700 BUS 9>255\n1260 BUS 9>255",
         "timed-out 1>2 9B 0/2 lacks 1 T4 at 1051"},
        {"another request takes its place", "0 RTS 1>2 9\n1 CTS 2>1 2 1\n2 DT 1>2 1\n"
         "3 RTS 1>2 14 /65250\n4 CTS 2>1 2 1 /65250\n5 DT 1>2 1\n6 DT 1>2 2\n7 ACK 2>1 14 /65250",
         "replaced 1>2 9B 1/2 lacks 2; complete 1>2 14B 2/2 ack"},
        {"more than was granted does not count", "0 RTS 1>2 20\n1 CTS 2>1 1 1\n2 DT 1>2 1\n"
         "3 DT 1>2 2\n4 DT 1>2 3\n5 ABORT 2>1 6",
         "aborted 1>2 20B 1/3 ungranted 2 lacks 2 reason 6 by receiver"},
        {"granted beyond the last: never a payload, even if all comes later",
         "0 RTS 1>2 9\n1 CTS 2>1 255 6\n2 DT 1>2 6\n3 CTS 2>1 2 1\n4 DT 1>2 1\n5 DT 1>2 2\n"
         "6 ACK 2>1 9", "broken 1>2 9B 2/2 ack ungranted 1 breach 2"},
        {"granted beyond the last, then given up", "0 RTS 1>2 9\n1 CTS 2>1 255 6\n2 DT 1>2 6\n"
         "1260 ABORT 1>2 255",
         "aborted 1>2 9B 0/2 ungranted 1 lacks 1 reason 255 by originator breach 2"},
        {"granted from number 0", "0 RTS 1>2 9\n1 CTS 2>1 2 0\n700 BUS 9>255\n1460 BUS 9>255",
         "broken 1>2 9B 0/2 lacks 1 breach 2"},
        {"acknowledged before anything was sent", "0 RTS 1>2 9\n1 ACK 2>1 9",
         "broken 1>2 9B 0/2 ack lacks 1 breach 4"},
        {"acknowledged with another size", "0 RTS 1>2 9\n1 CTS 2>1 2 1\n2 DT 1>2 1\n3 DT 1>2 2\n"
         "4 ACK 2>1 10", "broken 1>2 9B 2/2 ack breach 4"},
        {"too large, and refused for it", "0 RTS 1>2 1800 255\n1 ABORT 2>1 9",
         "aborted 1>2 1800B 0/255 lacks 1 reason 9 by receiver breach 1"},
        {"other content under one grant", "0 RTS 1>2 9\n1 CTS 2>1 2 1\n2 DT 1>2 1\n2 ODT 1>2 1\n"
         "3 DT 1>2 2\n4 ACK 2>1 9", "broken 1>2 9B 2/2 ack repeated 1 breach 3"},
    };
    TALK_EXPECT(rows);
}

Test(decoding_transport, what_belongs_to_nothing)
{
    static const struct talk_sequence rows[] = {
        {"a grant nobody asked for", "0 CTS 2>1 2 1\n1 DT 1>2 1", " | stray data 1, control 1"},
        {"a grant of another group, and an originator that obeys",
         "0 RTS 1>2 9\n1 CTS 2>1 2 1 /65226\n2 DT 1>2 1\n3 DT 1>2 2\n700 BUS 9>255\n"
         "1400 DT 1>2 1\n2000 BUS 9>255\n2600 ABORT 1>2 3",
         "aborted 1>2 9B 0/2 ungranted 3 lacks 1 reason 3 by originator | stray data 0, control 1"},
        {"the originator grants itself", "0 RTS 1>2 9\n1 CTS 1>2 2 1\n2 ACK 1>2 9\n3 DT 2>1 1",
         "unfinished 1>2 9B 0/2 lacks 1 | stray data 1, control 2"},
        {"somebody else grants", "0 RTS 1>2 9\n1 CTS 3>1 2 1",
         "unfinished 1>2 9B 0/2 lacks 1 | stray data 0, control 1"},
        {"an acknowledgement twice", "0 RTS 1>2 9\n1 CTS 2>1 2 1\n2 DT 1>2 1\n3 DT 1>2 2\n"
         "4 ACK 2>1 9\n5 ACK 2>1 9", "complete 1>2 9B 2/2 ack | stray data 0, control 1"},
        {"the abort of an extended connection", "0 RTS 1>2 9\n1 XABORT 2>1 2",
         "unfinished 1>2 9B 0/2 lacks 1 | stray data 0, control 1"},
    };
    TALK_EXPECT(rows);
}
