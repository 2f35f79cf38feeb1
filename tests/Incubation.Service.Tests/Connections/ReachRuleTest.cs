using System.Net;
using Incubation.Service.Connections;

namespace Incubation.Service.Tests.Connections;

/// <summary>To which addresses this server connects.</summary>
public sealed class ReachRuleTest
{
    [Theory]
    [InlineData("127.0.0.1", true)]
    [InlineData("127.9.9.9", true)]
    [InlineData("0.0.0.0", true)]
    [InlineData("169.254.169.254", true)]
    [InlineData("224.0.0.1", true)]
    [InlineData("255.255.255.255", true)]
    [InlineData("100.100.100.200", true)]
    [InlineData("::1", true)]
    [InlineData("::", true)]
    [InlineData("fe80::1", true)]
    [InlineData("ff02::1", true)]
    [InlineData("fd00:ec2::254", true)]
    [InlineData("::ffff:127.0.0.1", true)]
    [InlineData("::127.0.0.1", true)]
    [InlineData("64:ff9b::7f00:1", true)]
    [InlineData("64:ff9b::a9fe:a9fe", true)]
    [InlineData("2002:7f00:1::", true)]
    [InlineData("192.0.2.7", false)]
    [InlineData("10.0.0.5", false)]
    [InlineData("192.168.1.5", false)]
    [InlineData("2001:db8::1", false)]
    [InlineData("64:ff9b::c000:207", false)]
    public void IsNear_AnAddress_HoweverItIsWritten(string address, bool isNear)
    {
        var parsed = IPAddress.Parse(address);
        Assert.Equal(isNear, ReachRule.IsNear(parsed));
        Assert.Equal(!isNear, ReachRule.Allows(parsed, [], isSecret: true));
        // Without TLS nothing that was not named.
        Assert.False(ReachRule.Allows(parsed, [], isSecret: false));
        Assert.True(ReachRule.Allows(parsed, [parsed.ToString()], isSecret: false));
    }
}
